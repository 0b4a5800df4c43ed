package study

import (
	"math"
	"math/rand/v2"
	"testing"

	"padside/metrology"
)

// TestRepeatHoldsTheMean simulates sets of repeats: launches differ, are measured with noise of their own and a shared error.
func TestRepeatHoldsTheMean(t *testing.T) {
	t.Parallel()
	sets := 2000
	if testing.Short() {
		sets = 500
	}
	const truth, between, own, shared, draws = 30.0, 0.4, 0.2, 0.3, 300
	r := rand.New(rand.NewPCG(8, 1))
	for _, n := range []int{3, 6} {
		held := 0
		for range sets {
			common := shared * r.NormFloat64()
			z := normals(draws, r)
			values, all := make([]float64, n), make([][]float64, n)
			for i := range values {
				values[i] = truth + between*r.NormFloat64() + own*r.NormFloat64() + common
				for k := range draws {
					all[i] = append(all[i], values[i]+own*r.NormFloat64()+shared*z[k])
				}
			}
			got, err := Repeat(values, all, metrology.Answer{ID: "peak_speed", Unit: "m/s"})
			if err != nil {
				t.Fatal(err)
			}
			if iv := got.Mean.Interval; iv[0] <= truth && truth <= iv[1] {
				held++
			}
		}
		part := float64(held) / float64(sets)
		t.Logf("%d repeats: %.1f %%", n, 100*part)
		if part < 0.93 || part > 0.985 { // Welch-Satterthwaite errs to the safe side with few degrees of freedom
			t.Errorf("%d repeats: the interval holds the mean in %.1f %%, want 93 to 98.5", n, 100*part)
		}
	}
}

// TestGrubbs: critical values of Grubbs' two-sided test at 5 % (Grubbs & Beck, Technometrics 14 (1972) 847; from memory).
func TestGrubbs(t *testing.T) {
	t.Parallel()
	for n, g := range map[int]float64{5: 1.715, 10: 2.290, 20: 2.709} {
		if p := grubbsP(g, n); math.Abs(p-0.05) > 0.002 {
			t.Errorf("grubbsP(%g, %d) = %.4f, want 0.05", g, n, p)
		}
	}
	values := []float64{10, 10.1, 9.9, 10.05, 9.95, 14}
	r := rand.New(rand.NewPCG(9, 1))
	all := make([][]float64, len(values))
	for i, v := range values {
		for range 200 {
			all[i] = append(all[i], v+0.05*r.NormFloat64())
		}
	}
	got, err := Repeat(values, all, metrology.Answer{ID: "peak_speed"})
	if err != nil || got.Outlier != 6 || math.Abs(*got.Mean.Value-64.0/6) > 1e-9 {
		t.Errorf("outlier %d, mean %v, %v: want launch 6 named and kept in the mean", got.Outlier, got.Mean.Value, err)
	}
}

// TestLaunchesNeeded: two groups, a difference of one standard deviation, two-sided 5 %, chance 80 %: 17 each (Cohen, Statistical Power
// Analysis, 2nd ed. 1988, table 2.4.1; from memory). Half a standard deviation: 64.
func TestLaunchesNeeded(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		d    float64
		want int
	}{{1, 17}, {0.5, 64}, {0, 0}, {1e-4, 0}} {
		if got, _ := needed(c.d, 1+1, 0, 0.8); got < c.want-1 || got > c.want+1 {
			t.Errorf("needed(%g) = %d, want %d", c.d, got, c.want)
		}
	}
}

// TestSweepFindsTheBest simulates sweeps of seven launches over a parabola.
func TestSweepFindsTheBest(t *testing.T) {
	t.Parallel()
	sweeps := 200
	if testing.Short() {
		sweeps = 60
	}
	const best, top, scatter, own, draws = 0.62, 30.0, 0.25, 0.1, 100
	r := rand.New(rand.NewPCG(10, 1))
	held, band, width := 0, 0, 0.0
	for i := range sweeps {
		var points []SweepPoint
		z := normals(draws, r)
		common := 0.2 * r.NormFloat64()
		for _, x := range []float64{0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9} {
			v := top - 40*(x-best)*(x-best) + scatter*r.NormFloat64() + common
			p := SweepPoint{At: x, Value: v}
			for k := range draws {
				p.Draws = append(p.Draws, v+own*r.NormFloat64()+0.2*z[k])
			}
			points = append(points, p)
		}
		s, err := RunSweep(points, true, uint64(i))
		if err != nil {
			t.Fatal(err)
		}
		if s.BestInterval[0] <= best && best <= s.BestInterval[1] {
			held++
		}
		mid := s.Curve[len(s.Curve)/2]
		if v := top - 40*(mid.At-best)*(mid.At-best); mid.Low <= v && v <= mid.High {
			band++
		}
		width += (s.BestInterval[1] - s.BestInterval[0]) / float64(sweeps)
	}
	part, partBand := float64(held)/float64(sweeps), float64(band)/float64(sweeps)
	t.Logf("best %.1f %%, band %.1f %%, width %.3f", 100*part, 100*partBand, width)
	// A parabola is smoother than curves need be: that it might not be one widens the interval.
	if part < 0.92 || width > 0.08 || partBand < 0.91 || partBand > 0.99 {
		t.Errorf("the best is held in %.1f %%, the curve in %.1f %%, want 92 and more, 91 to 99", 100*part, 100*partBand)
	}
}

func TestSweepOutsideTheRangeFlown(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(11, 1))
	var points []SweepPoint
	for _, x := range []float64{0.1, 0.2, 0.3, 0.4, 0.5} {
		p := SweepPoint{At: x, Value: 20 + 30*x + 0.05*r.NormFloat64()}
		for range 100 {
			p.Draws = append(p.Draws, p.Value+0.02*r.NormFloat64())
		}
		points = append(points, p)
	}
	s, err := RunSweep(points, true, 1)
	if err != nil || !s.LiesOutside() || s.Best != 0.5 {
		t.Errorf("rising throughout: best %g, outside %v (%g), %v", s.Best, s.LiesOutside(), s.Outside, err)
	}
	if _, err := RunSweep(points[:3], true, 1); err == nil {
		t.Error("three launches gave a curve")
	}
	for i := range points {
		points[i].At = 0.3
	}
	if _, err := RunSweep(points, true, 1); err == nil {
		t.Error("one condition gave a curve")
	}
}
