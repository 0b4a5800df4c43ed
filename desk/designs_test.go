package desk

import (
	"reflect"
	"strings"
	"testing"

	"padside/logbook"
	"padside/study"
	"padside/trace"
	"padside/units"
)

// TestDesigns: launches of one vehicle flown alike are one design, whatever the weather; another fill is another, and so is another lane.
func TestDesigns(t *testing.T) {
	t.Parallel()
	c := &comparing{}
	add := func(title, vehicle string, lanes int, conditions ...string) {
		l := &logbook.Launch{Title: title, Vehicle: vehicle}
		for _, one := range conditions {
			key, text, _ := strings.Cut(one, "=")
			l.Conditions = append(l.Conditions, logbook.Condition{Key: key, Text: text})
		}
		m := &Measurement{Launch: l, Sheet: &Sheet{Launch: LaunchLine{Title: title}}}
		for k := range lanes {
			m.Lanes = append(m.Lanes, Lane{Path: trace.Path{Lane: k + 1}})
		}
		c.launches, c.measured = append(c.launches, l), append(c.measured, m)
	}
	add("Heron, morning", "Heron", 1, "water=350 mL", "air_temperature=12 degC")
	add("Heron, evening", "Heron", 1, "water=350  mL", "air_temperature=20 degC")
	add("Heron, half full", "Heron", 1, "water=500 mL")
	add("The pair", "Kite, Wren", 2)
	add("Nameless", "", 1)
	if got, want := c.designs(), []string{"Heron, morning", "Heron, morning", "Heron, half full", "Kite", "Wren", "Nameless"}; !reflect.DeepEqual(got, want) {
		t.Errorf("designs %q, want %q", got, want)
	}
}

func TestApartText(t *testing.T) {
	t.Parallel()
	ms, _ := units.Lookup("ms", units.Time)
	for want, a := range map[string]study.Apart{
		": told apart":                              {LaunchesA: 3, LaunchesB: 3, Apart: true, Needed: 2},
		"only more launches of each":                {LaunchesA: 1, LaunchesB: 1, Apart: true, AtLeast: true},
		"film both from one place":                  {LaunchesA: 3, LaunchesB: 3, Fixed: true},
		"more than 10,000 launches":                 {LaunchesA: 3, LaunchesB: 3},
		"17 launches of each are needed":            {LaunchesA: 3, LaunchesB: 5, Needed: 17},
		"Kite (5 launches) less Heron (3 launches)": {LaunchesA: 3, LaunchesB: 5, Needed: 17},
		"(12 and 14 more)":                          {LaunchesA: 3, LaunchesB: 5, Needed: 17},
		"at least 9 launches of each":               {LaunchesA: 1, LaunchesB: 1, Needed: 9, AtLeast: true},
	} {
		a.A, a.B, a.Difference, a.Interval = "Heron", "Kite", 0.004, [2]float64{-0.002, 0.010}
		if got := apartText(a, ms); !strings.Contains(got, want) || !strings.Contains(got, "4.0 ms, between -2.0 and 10.0") {
			t.Errorf("%+v reads %q, want %q in it", a, got, want)
		}
	}
}
