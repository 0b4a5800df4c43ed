package motion

import (
	"math"
	"math/rand/v2"
	"testing"
)

// bounced is a ball let go above a floor that throws it back at 0.6 of its speed, twice, filmed
// until long after.
func bounced(seed uint64) (in Input, release, impact float64) {
	const rate, u, gravity, floor, left = 120.0, 1e-3, 9.81, 1.6, 0.6
	r := rand.New(rand.NewPCG(seed, 8))
	release = 0.3 + r.Float64()/rate
	impact = math.Sqrt(2 * gravity * floor)
	fall := math.Sqrt(2 * floor / gravity)
	in = Input{Lane: 1, Seed: seed, Kind: Dropped}
	for i := 0; float64(i)/rate < release+fall*2.5; i++ {
		at := float64(i) / rate
		d, h := at-release, 0.0
		if d > 0 {
			h = gravity / 2 * d * d
		}
		if d > fall {
			v := impact
			for d -= fall; ; d -= 2 * v / gravity {
				if v *= left; d <= 2*v/gravity {
					break
				}
			}
			h = floor - v*d + gravity/2*d*d
		}
		in.Observations = append(in.Observations, Observation{Frame: i, T: at, H: h + u*r.NormFloat64(), U: u})
	}
	return in, release, impact
}

// A flight that ends on the floor and goes on as a rebound: the peaks are those of the fall.
func TestLandingEndsTheFlight(t *testing.T) {
	t.Parallel()
	for seed := range uint64(6) {
		in, release, impact := bounced(seed)
		res := mustMeasure(t, in)
		for id, truth := range map[string]float64{FirstMotion: release, PeakSpeed: impact, PeakAcceleration: 9.81} {
			a, _ := find(t, res, id)
			holds(t, a, truth)
			widest := map[string]float64{FirstMotion: 4.0 / 120, PeakSpeed: 0.05 * impact, PeakAcceleration: 0.2 * 9.81}[id]
			if a.Interval != nil && a.Interval[1]-a.Interval[0] > widest {
				t.Errorf("seed %d: %s is known to %g only", seed, id, a.Interval[1]-a.Interval[0])
			}
		}
	}
}
