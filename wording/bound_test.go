package wording

import (
	"strings"
	"testing"

	"padside/metrology"
	"padside/motion"
	"padside/units"
)

// A value that is only a bound says so wherever it is written: in the table, on the page and in the sentence.
func TestBoundsAreSaid(t *testing.T) {
	t.Parallel()
	value, u := 41.23, 0.4
	a := metrology.Answer{ID: motion.PeakSpeed, Unit: "m/s", Status: metrology.Measured, Value: &value, U: &u, Interval: &[2]float64{40.4, 42.1}}
	for bound, begins := range map[metrology.Bound]string{"": "41.", metrology.Lower: "at least 41.", metrology.Upper: "at most 41."} {
		a.Bound = bound
		got, _ := Text(a, units.Unit{Symbol: "m/s", Num: 1, Den: 1})
		if !strings.HasPrefix(got, begins) {
			t.Errorf("bound %q: %q, want it to begin with %q", bound, got, begins)
		}
		if s := (Reader{}).Word(a).Sentence; strings.Contains(s, "outside the footage") != (bound != "") {
			t.Errorf("bound %q: the sentence is %q", bound, s)
		}
	}
}
