package noise

import (
	"math"
	"testing"
)

// None of it at rest, all between 0.4 and 1 px, half at 2 px, none from 3 px on; alike either way.
func TestLeaving(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ way, want float64 }{{0, 0}, {0.2, 0.5}, {0.4, 1}, {1, 1}, {2, 0.5}, {2.5, 0.25}, {3, 0}, {40, 0}} {
		for _, way := range []float64{c.way, -c.way} {
			if got := Leaving(way); math.Abs(got-c.want) > 1e-12 {
				t.Errorf("%g px off rest: %g, want %g", way, got, c.want)
			}
		}
	}
}
