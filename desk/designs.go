package desk

import (
	"fmt"
	"io"
	"strings"

	"padside/metrology"
	"padside/rules"
	"padside/study"
	"padside/units"
	"padside/wording"
)

// mostDesigns is up to how many designs every two are told apart: beyond it the pairs say nothing any more.
const mostDesigns = 12

// weather are conditions that do not make another design.
var weather = map[string]bool{"air_temperature": true, "air_pressure": true, "water_temperature": true, "wind": true, "elevation": true, "latitude": true, "humidity": true, "weather": true}

// designs names each launch's design, lane by lane: launches of one vehicle whose conditions read alike, the weather apart, are one.
func (c *comparing) designs() []string {
	var keys, names []string
	titles := map[string]string{} // of a design: that of its first launch
	vehicles := map[string]map[string]bool{}
	for i, m := range c.measured {
		l := c.launches[i]
		for k := range m.Lanes {
			vehicle := l.Vehicle
			if parts := strings.Split(vehicle, ","); len(parts) == len(m.Lanes) {
				vehicle = strings.TrimSpace(parts[k])
			}
			if vehicle == "" {
				vehicle = titleFor(m, k)
			}
			key := vehicle
			for _, one := range l.Conditions {
				if !weather[one.Key] {
					key += "\x00" + one.Key + "=" + rules.Folded(one.Text)
				}
			}
			if titles[key] == "" {
				titles[key] = titleFor(m, k)
			}
			if vehicles[vehicle] == nil {
				vehicles[vehicle] = map[string]bool{}
			}
			vehicles[vehicle][key] = true
			keys, names = append(keys, key), append(names, vehicle)
		}
	}
	for i, key := range keys {
		if len(vehicles[names[i]]) > 1 { // one vehicle flown in several ways
			names[i] = titles[key]
		}
	}
	return names
}

// designs compares designs by every answer.
func (s *CompareSheet) designs(c *study.Comparison, names []string) {
	distinct := map[string]bool{}
	for _, n := range names {
		distinct[n] = true
	}
	s.by = c.By
	if len(distinct) > mostDesigns {
		return
	}
	for i := range c.Rows {
		c.Rows[i].Designs = c.Rows[i].TellApart(names)
	}
}

// apartText says whether two designs can be told apart, and what it would take.
func apartText(a study.Apart, u units.Unit) string {
	flown := func(n int) string {
		if n == 1 {
			return "1 launch"
		}
		return fmt.Sprintf("%d launches", n)
	}
	d, lo, hi := u.DeltaFromSI(a.Difference), u.DeltaFromSI(a.Interval[0]), u.DeltaFromSI(a.Interval[1])
	gap, between := gapText(d, lo, hi, u.Symbol)
	text := fmt.Sprintf("%s (%s) less %s (%s): %s", a.B, flown(a.LaunchesB), a.A, flown(a.LaunchesA), gap)
	if between != "" {
		text += ", between " + strings.Replace(between, " to ", " and ", 1)
	}
	switch {
	case a.Apart && a.AtLeast:
		return text + ": these launches differ; whether the designs do, only more launches of each can say"
	case a.Apart:
		return text + ": told apart"
	case a.Fixed:
		return text + ": not told apart, and no number of launches would do it: what their setups do not share must shrink; film both from one place, under one setup's name"
	case a.Needed == 0:
		return text + ": not told apart; if they differ at all it takes more than 10,000 launches of each to show it"
	}
	least := ""
	if a.AtLeast {
		least = "at least "
	}
	return fmt.Sprintf("%s: not told apart; if they truly differ by as much, %s%d launches of each are needed (%d and %d more) to show it 4 times in 5",
		text, least, a.Needed, max(0, a.Needed-a.LaunchesB), max(0, a.Needed-a.LaunchesA))
}

// designsText says what it takes to tell the designs apart, by the answer that orders them.
func (s *CompareSheet) designsText(w io.Writer, r wording.Reader) {
	if s.by == nil || len(s.by.Designs) == 0 {
		return
	}
	fmt.Fprintf(w, "\ndesigns, by %s\n", s.OrderBy)
	u := r.UnitOf(metrology.Answer{ID: s.by.ID, Unit: s.by.Unit, Value: new(float64)})
	for _, a := range s.by.Designs {
		fmt.Fprintf(w, "  %s\n", apartText(a, u))
	}
}
