package trace

import (
	"testing"

	"padside/register"
)

// A reference from flight that is found at rest with little likeness found something else; a
// vehicle half hidden by what holds it stays, and so does a ball in a hand, and one matched by a
// reference from rest.
func TestRestUnlikeFlight(t *testing.T) {
	for _, c := range []struct {
		name          string
		flight, falls bool
		quality       float64
		out           bool
	}{{"something else", true, false, 0.57, true}, {"held", true, false, 0.75, false}, {"in a hand", true, true, 0.57, false}, {"reference from rest", false, false, 0.57, false}} {
		r := &refiner{flight: c.flight, falls: c.falls, refs: []int{6, 7}, matches: make([]register.Match, 10), adrift: make([]bool, 10)}
		for i := range r.matches {
			r.matches[i] = register.Match{OK: true, Quality: 0.99}
			if i < 5 {
				r.matches[i].Quality = c.quality
			}
		}
		r.judgeRest()
		for i := range r.matches {
			if want := c.out && i < 5; r.adrift[i] != want || r.matches[i].OK == want {
				t.Errorf("%s: sighting %d left out: %v, want %v", c.name, i, r.adrift[i], want)
			}
		}
	}
}
