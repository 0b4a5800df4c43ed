package desk

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"padside/metrology"
	"padside/sheet"
	"padside/study"
	"padside/units"
	"padside/wording"
)

// View words a heat in the units wanted.
func (s *HeatSheet) View(want wording.Units) (*sheet.Heat, error) {
	r, err := wording.New(s.asked, want)
	if err != nil {
		return nil, err
	}
	u := r.UnitOf(s.unitOf())
	v := &sheet.Heat{Made: fmt.Sprintf("Measured and ordered by %s, seed %d", s.Program, s.Seed),
		Title: s.Title, Date: s.Date, RacedOn: s.racedOn(r), Best: "the largest wins", Unit: u.Symbol, Rules: []string{}, Lines: []sheet.HeatLine{}, Warnings: []string{}}
	if s.Question.Smaller {
		v.Best = "the smallest wins"
	}
	if v.Title == "" {
		v.Title = "Heat"
	}
	for _, rule := range s.Rules {
		v.Rules = append(v.Rules, rule.Words)
	}
	listed := map[int]bool{}
	for _, p := range s.Order {
		p = slices.Clone(p)
		slices.SortStableFunc(p, func(a, b int) int { return s.better(a, b) })
		for _, n := range p {
			v.Lines, listed[n] = append(v.Lines, s.line(n, u)), true
		}
	}
	for _, standing := range []HeatStanding{Waiting, NoResult, NotClassified} {
		for i := range s.Entries {
			if s.Entries[i].Standing == standing && !listed[i+1] {
				v.Lines = append(v.Lines, s.line(i+1, u))
			}
		}
	}
	v.Measured = s.measured()
	for _, w := range s.Warnings {
		if w.Code != "rule-cannot-tell" { // said with the entry
			v.Warnings = append(v.Warnings, w.Message)
		}
	}
	v.Sharing = v.Shared()
	return v, nil
}

// unitOf is an answer of the question's kind whose size chooses between milliseconds and seconds: the largest of all.
func (s *HeatSheet) unitOf() metrology.Answer {
	a := metrology.Answer{ID: s.Question.ID, Unit: s.Question.Unit, Value: new(float64)}
	for i := range s.Entries {
		if v := s.Entries[i].Answer.Value; v != nil && math.Abs(*v) > math.Abs(*a.Value) {
			a.Value = v
		}
	}
	return a
}

// racedOn says what was raced on.
func (s *HeatSheet) racedOn(r wording.Reader) string {
	words := r.Name(metrology.Answer{ID: s.Question.ID, Speed: s.Question.Speed, Height: s.Question.Height, Window: s.window()})
	if s.Question.ID == "gate_crossing" {
		return "time to a height of " + r.GateText(*s.Question.Height) + ", from first motion"
	}
	if s.Question.ID == "time_to_speed" {
		return words + ", from first motion"
	}
	return words
}

// window is that over which the largest accelerations were taken, nil where there is none.
func (s *HeatSheet) window() *float64 {
	for i := range s.Entries {
		if w := s.Entries[i].Answer.Window; w != nil {
			return w
		}
	}
	return nil
}

// better orders entries of one place by their values.
func (s *HeatSheet) better(a, b int) int {
	x, y := *s.Entries[a-1].Answer.Value, *s.Entries[b-1].Answer.Value
	if !s.Question.Smaller {
		x, y = y, x
	}
	switch {
	case x < y:
		return -1
	case x > y:
		return 1
	}
	return 0
}

// line words entry n, from 1.
func (s *HeatSheet) line(n int, u units.Unit) sheet.HeatLine {
	e := &s.Entries[n-1]
	l := sheet.HeatLine{Entry: n, Number: e.Number, Name: e.called(), Lane: e.Lane, Standing: string(e.Standing), Place: e.Place, Reasons: notNil(e.Reasons), Problem: e.Problem, Notes: []string{}}
	if e.Title != l.Name {
		l.About = strings.TrimPrefix(e.Title, l.Name+", ") // "Heron, 350 mL at 4.5 bar" says no more of Heron than its end
	}
	if e.Answer.Value != nil {
		l.Text, l.Interval = wording.Text(e.Answer, u)
		value, low, high := u.FromSI(*e.Answer.Value), u.FromSI(e.Answer.Interval[0]), u.FromSI(e.Answer.Interval[1])
		l.Value, l.Low, l.High = &value, &low, &high
	}
	if e.Footage != nil {
		l.Film = filmText(e.Footage)
	}
	for _, c := range e.Checks {
		if c.Verdict == study.CannotTell {
			l.Notes = append(l.Notes, "it cannot be told whether it keeps a rule: "+c.Message)
		}
	}
	if e.First != nil && len(s.raced()) > 1 {
		l.First = oddsFigure(*e.First)
	}
	l.Behind, l.Between = s.behind(n, u)
	return l
}

// oddsFigure writes a probability, without claiming certainty that draws cannot give.
func oddsFigure(p float64) string {
	switch {
	case p > 0.999:
		return "> 99.9 %"
	case p < 0.001:
		return "< 0.1 %"
	}
	return fmt.Sprintf("%.1f %%", 100*p)
}

// filmText says what an entry was measured from.
func filmText(f *FootageLine) string {
	clock := map[string]string{"rate": "at the rate stated", "container": "timed by the file's own stamps", "exif": "timed by the stills' own stamps", "list": "at the times stated"}[f.Basis]
	text := fmt.Sprintf("%d frames %s", f.Frames, clock)
	if f.RateHz > 0 {
		text += fmt.Sprintf(", %.5g per second", f.RateHz)
	}
	return text
}

// raced are the entries with a place.
func (s *HeatSheet) raced() []int {
	var out []int
	for _, p := range s.Order {
		out = append(out, p...)
	}
	return out
}

// behind says how far entry n lies behind the best value, with the interval of that; empty for the best itself.
func (s *HeatSheet) behind(n int, u units.Unit) (gap, between string) {
	if len(s.Order) == 0 || s.Entries[n-1].Standing != Classified {
		return "", ""
	}
	best := s.Order[0][0]
	for _, k := range s.Order[0] {
		if s.better(k, best) < 0 {
			best = k
		}
	}
	of, to := n, best
	if !s.Question.Smaller {
		of, to = best, n
	}
	if d, ok := study.Between(s.Diffs, of, to); ok {
		return gapText(u.DeltaFromSI(d.Value), u.DeltaFromSI(d.Interval[0]), u.DeltaFromSI(d.Interval[1]), u.Symbol)
	}
	return "", ""
}

// gapText words a gap and its interval, rounded by that.
func gapText(v, lo, hi float64, symbol string) (gap, between string) {
	sd := (hi - lo) / 4
	place, ok := metrology.Place(sd, metrology.Digits)
	if !ok {
		return fmt.Sprintf("%.4g %s", v, symbol), ""
	}
	a, b := metrology.Ends(metrology.Interval{Lo: lo, Hi: hi}, sd, metrology.Digits)
	return metrology.Round(v, place) + " " + symbol, a + " to " + b
}

// measured says how the numbers came about.
func (s *HeatSheet) measured() []string {
	out := []string{"Each number is measured from footage; its interval holds the truth 95 times in 100."}
	switch s.Question.ID {
	case "time_to_speed", "gate_crossing":
		out = append(out, "Time counts from each vehicle's own first motion, not from a signal.")
	case "peak_speed":
		out = append(out, "Peak speed is the highest in view; who still gains speed at the edge of the picture was faster yet.")
	}
	out = append(out, "Entries that their intervals cannot tell apart share a place: one is placed before another where that is at least 97.5 % probable. Errors that entries of one setup share do not blur their order.")
	return out
}
