package trace

import (
	"math"
	"math/rand/v2"
	"testing"

	"padside/camera"
	"padside/register"
	"padside/stabilise"
)

// TestCoarsePlacesOnNoPath: coarse places in flight that jump from band to band of the vehicle are adrift; such as err by a pixel, or by the same all along,
// stay, and so do those at rest.
func TestCoarsePlacesOnNoPath(t *testing.T) {
	t.Parallel()
	const n, flies, blind = 40, 12, 25 // frames, first in motion, first that is found by the coarse search alone
	for _, c := range []struct {
		name   string
		err    func(i int, r *rand.Rand) float64 // px, of coarse places
		adrift bool
	}{
		{"from band to band", func(i int, r *rand.Rand) float64 { return 35 * math.Floor(2*r.Float64()) }, true},
		{"a pixel", func(i int, r *rand.Rand) float64 { return r.NormFloat64() }, false},
		{"one band too low all along", func(i int, r *rand.Rand) float64 { return 9 }, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(1, 41))
			r := &refiner{steady: &stabilise.Background{}, line: camera.FlightLine{Uy: -1}, coarse: make([]bool, n)}
			for i := range n {
				up := 0.0
				if i > flies {
					up = 1.2 * float64((i-flies)*(i-flies)) // px: 2.4 px more from frame to frame
				}
				r.coarse[i] = i >= blind || i < 3
				if i >= blind {
					up += c.err(i, rng)
				}
				r.sights = append(r.sights, sighting{frame: i})
				r.warps = append(r.warps, register.Warp{Y: -up, A: 1})
				r.matches = append(r.matches, register.Match{Warp: r.warps[i], OK: true})
			}
			r.judgeCoarse()
			for i, got := range r.adrift {
				if want := c.adrift && i >= blind; got != want || r.matches[i].OK == want {
					t.Errorf("frame %d adrift: %v, matched: %v, want %v, %v", i, got, r.matches[i].OK, want, !want)
				}
			}
		})
	}
}
