package trace

import (
	"math"
	"math/rand/v2"
	"testing"
)

// fallen makes lengths of a flight that accelerates evenly up to top px/s at reach px, under a change of distance c and a skew k, each with noise of sd.
func fallen(r *rand.Rand, c, k, sd float64) []length {
	const n, reach, top = 24, 800.0, 8000.0
	var out []length
	for i := range n {
		s := reach * float64(i+1) / n
		w := top * math.Sqrt(s/reach)
		out = append(out, length{s, w, math.Pow(1+c*s, 2)*(1+k*w) + sd*r.NormFloat64()})
	}
	return out
}

// TestRulerOfRows: of lengths made by the formulas of perspective and of a row-by-row shutter the fit finds both, the skew by its stated uncertainty; given the true
// skew, the slope of distance is that of lengths without one. Without the speed's term a change of 8 % by the shutter passes for 8 % of distance.
func TestRulerOfRows(t *testing.T) {
	t.Parallel()
	const sd, runs, reach = 0.0007, 400, 800.0
	for _, c := range []struct{ c, k float64 }{{0, 0}, {1e-5, 1e-5}, {-2e-5, -8e-6}, {5e-5, 3e-6}} {
		var pull, off, plain float64
		for seed := range uint64(runs) {
			r := rand.New(rand.NewPCG(seed, 17))
			f := fitRuler(fallen(r, c.c, c.k, sd), 0)
			want := fitRuler(fallen(rand.New(rand.NewPCG(seed, 17)), c.c, 0, sd), 0)
			if f.Frames == 0 || want.Frames == 0 {
				t.Fatalf("c %g, k %g: no ruler", c.c, c.k)
			}
			pull += math.Pow((f.Skew-c.k)/f.SkewU, 2) / runs
			off = max(off, math.Abs(f.At(c.k)-want.Rate)*reach)
			plain = max(plain, math.Abs(f.Rate-want.Rate)*reach)
		}
		t.Logf("c %g, k %g: pull of k %.2f; slope at k off by %.5f over the way, at none by %.4f", c.c, c.k, math.Sqrt(pull), off, plain)
		const mostPull, mostOff = 1.25, 0.002 // of 24 lengths the scatter is told to a fifth; terms of the third order in k w
		if math.Sqrt(pull) > mostPull || off > mostOff {
			t.Errorf("c %g, k %g: the skew's pull is %.2f, the slope given it is off by %.4f over the way", c.c, c.k, math.Sqrt(pull), off)
		}
		if change := math.Abs(c.k) * 8000; change > 0.02 && plain < change/2 {
			t.Errorf("c %g, k %g: taken for distance the shutter changes the slope by %.4f only", c.c, c.k, plain)
		}
	}
}

// TestRulerOfEvenSpeed: at one speed way and skew cannot be told apart, and no skew is given.
func TestRulerOfEvenSpeed(t *testing.T) {
	t.Parallel()
	var all []length
	for i := range 24 {
		s := 10 * float64(i+1)
		all = append(all, length{s, 5 * s, 1 + 1e-4*s})
	}
	if f := fitRuler(all, 0.0007); f.Frames != 24 || f.SkewU != 0 || math.Abs(f.Rate-1e-4) > 1e-9 {
		t.Errorf("a speed in proportion to the way gives %+v", f)
	}
}
