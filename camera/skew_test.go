package camera

import (
	"math"
	"math/rand/v2"
	"testing"
)

// rows turns a ruler that was measured with all rows at once into what a shutter of skew k makes of it: lengths (1 + k w) times as long, w the speed of even acceleration
// up to top at reach. The sums over evenly spread lengths are those of straight lines.
func (g Growth) rows(k, top, reach float64) Growth {
	const n = 24
	var ss, sw, sww float64
	for i := range n {
		s := reach * float64(i+1) / n
		w := top * math.Sqrt(s/reach)
		size := (1 + g.Rate*s) * (1 + k*w)
		ss, sw, sww = ss+s*s, sw+s*size*w, sww+s*size*w*w
	}
	var slope float64
	for i := range n {
		s := reach * float64(i+1) / n
		slope += s * ((1+g.Rate*s)*(1+k*top*math.Sqrt(s/reach)) - 1)
	}
	g.Rate, g.RatePerSkew, g.RateBend = slope/ss, -sw/ss, sww/ss
	return g
}

// TestSkew: heights of launches filmed by a shutter of unknown skew, which changes the ruler's length by 3 % (standard deviation) where it is fastest, lie in their intervals 93 to 97
// times in 100; given the skew they lie in intervals half as wide; and geometry alone tells the skew by its stated uncertainty.
func TestSkew(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates some thousand setups")
	}
	const top, change = 6000, 0.03 // px/s, and of the length at that speed
	var pull, n float64
	made := func(given bool) trial {
		return func(r *rand.Rand) (Spec, FlightLine, float64, Growth, Pixel, float64) {
			c, fl, spec := barrelSetup(r)
			line, reach := fl.line(c, 2.4)
			k := change / top * r.NormFloat64()
			g := c.ruler(r, fl, reach).rows(k, top, reach)
			if given {
				g.Skew = k
				return spec, line, reach, g, fl.at(c, 2.2), 2.2
			}
			g.SkewU = change / top
			s, _, err := calibrate(spec, line, reach, g)
			if err != nil {
				t.Fatal(err)
			}
			if seen, u, ok := s.SkewSeen(); ok {
				pull, n = pull+math.Pow((seen-k)/u, 2), n+1
			}
			return spec, line, reach, g, fl.at(c, 2.2), 2.2
		}
	}
	share, wide := covered(t, made(false))
	told, narrow := covered(t, made(true))
	pull = math.Sqrt(pull / n)
	t.Logf("unknown: %.1f %% held, ±%.2f %%; given: %.1f %%, ±%.2f %%; seen by geometry in %.0f, pull %.2f", 100*share, 100*wide, 100*told, 100*narrow, n, pull)
	if share < leastCovered || share > mostCovered || told < leastCovered || told > mostCovered {
		t.Errorf("intervals hold %.1f %% where the skew is unknown, %.1f %% where it is given", 100*share, 100*told)
	}
	if narrow > 0.7*wide {
		t.Errorf("half widths %.2f %% of a given skew, %.2f %% of an unknown one", 100*narrow, 100*wide)
	}
	const mostPull = 1.15 // of some thousand: 1 within 0.02, and what is not linear
	if pull > mostPull || n < setups/2 {
		t.Errorf("the geometry shows the skew in %.0f setups with a pull of %.2f", n, pull)
	}
}

// TestSkewDrawn: a scale taken for one skew draws the heights that it would have if that skew had been given.
func TestSkewDrawn(t *testing.T) {
	t.Parallel()
	const top, k = 6000, 5e-6
	r := rand.New(rand.NewPCG(3, 16))
	c, fl, spec := barrelSetup(r)
	line, reach := fl.line(c, 2.4)
	g := c.ruler(r, fl, reach).rows(k, top, reach)
	known := g
	known.Skew, g.SkewU = k, 5e-6
	a, _, err := Calibrate(spec, line, reach, known)
	if err != nil {
		t.Fatal(err)
	}
	b, _, err := Calibrate(spec, line, reach, g)
	if err != nil {
		t.Fatal(err)
	}
	given := b.At(k)
	if given.Height(300) != b.Height(300) {
		t.Errorf("a given skew moves the best height by %g m", given.Height(300)-b.Height(300))
	}
	for seed := range uint64(20) {
		one, two := rand.New(rand.NewPCG(seed, 1)), rand.New(rand.NewPCG(seed, 1))
		h := a.Height(reach)
		x, _, _ := a.Warp(one, one, "").At(h)
		y, _, _ := given.Warp(two, two, "").At(b.Height(reach))
		const alike = 1e-4 // a hundredth of the interval: gains are taken about another rate
		if math.Abs(x/y-1) > alike {
			t.Fatalf("draw %d: %g m where the skew was given from the start, %g m where it is given later", seed, x, y)
		}
	}
}
