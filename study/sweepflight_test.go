package study

import (
	"math/rand/v2"
	"testing"

	"padside/flight"
)

// flown is the speed after 1.4 m of a bottle with a fill of water.
func flown(t *testing.T, b flight.Bottle, water float64) float64 {
	t.Helper()
	b.Water = water
	f, err := b.Fly()
	if err != nil {
		t.Fatal(err)
	}
	at, ok := f.HeightReached(1.4)
	if !ok {
		t.Fatal("a bottle does not reach 1.4 m")
	}
	return f.At(at).Speed
}

// TestSweepOfBottles sweeps the water of drawn bottles at five and seven fills; the speed after 1.4 m has a kink where the water
// lasts to there, which no polynomial has. The truth is the flight model's best fill.
func TestSweepOfBottles(t *testing.T) {
	t.Parallel()
	bottles := 60
	if testing.Short() {
		bottles = 20
	}
	const own, draws = 0.004, 100 // relative, of measuring
	r := rand.New(rand.NewPCG(12, 1))
	for _, c := range []struct {
		fills   int
		scatter float64 // relative, from launch to launch
	}{{5, 0}, {5, 0.01}, {7, 0.01}} {
		held, width, n := 0, 0.0, 0
		for i := range bottles {
			b := flight.Bottle{Volume: 1.25e-3, Pressure: 4e5 + 2.5e5*r.Float64(), NozzleDiameter: 0.010 + 0.005*r.Float64(), DryMass: 0.11 + 0.06*r.Float64(),
				BodyDiameter: 0.084, DragCoefficient: 0.3 + 0.2*r.Float64(), Exponent: 1.2 + 0.2*r.Float64(), Discharge: 0.96, Site: flight.StandardSite()}
			low, high := 120e-6+60e-6*r.Float64(), 430e-6+80e-6*r.Float64()
			best, top := 0.0, 0.0
			for k := range 121 {
				w := low + (high-low)*float64(k)/120
				if v := flown(t, b, w); v > top {
					best, top = w, v
				}
			}
			var points []SweepPoint
			for k := range c.fills {
				w := low + (high-low)*float64(k)/float64(c.fills-1)
				v := flown(t, b, w) * (1 + c.scatter*r.NormFloat64() + own*r.NormFloat64())
				p := SweepPoint{At: w, Value: v}
				for range draws {
					p.Draws = append(p.Draws, v*(1+own*r.NormFloat64()))
				}
				points = append(points, p)
			}
			s, err := RunSweep(points, true, uint64(i))
			if err != nil {
				t.Fatal(err)
			}
			n++
			if s.BestInterval[0]-1e-9 <= best && best <= s.BestInterval[1]+1e-9 || s.LiesOutside() && (best-low < 2e-6 || high-best < 2e-6) {
				held++
			}
			width += (s.BestInterval[1] - s.BestInterval[0]) / float64(bottles)
		}
		part := float64(held) / float64(n)
		t.Logf("%d fills, scatter %.0f %%: held %.1f %%, mean width %.0f mL", c.fills, 100*c.scatter, 100*part, 1e6*width)
		if part < 0.86 || width > 90e-6 {
			t.Errorf("%d fills, scatter %g: the best fill is held in %.1f %% of %d", c.fills, c.scatter, 100*part, n)
		}
	}
}
