package fit

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

func TestMedianAndMAD(t *testing.T) {
	t.Parallel()
	x := []float64{9, 1, 8, 2, 1000}
	if got := Median(x); got != 8 {
		t.Errorf("Median(%v) = %v, want 8", x, got)
	}
	if got := Median(x[:4]); got != 5 {
		t.Errorf("Median(%v) = %v, want 5", x[:4], got)
	}
	// |x - 8| = 1 7 0 6 992: the middle is 6.
	if m, sd := MAD(x); m != 8 || sd != 6*madToSD {
		t.Errorf("MAD(%v) = %v, %v, want 8, %v", x, m, sd, 6*madToSD)
	}
	if x[0] != 9 {
		t.Error("Median sorted its argument")
	}
}

// TestLocation: 30 % of the values are wild; the estimates stay, and on clean normal data
// their uncertainty is what their scatter is, at 95 % efficiency.
func TestLocation(t *testing.T) {
	t.Parallel()
	const runs, n = 3000, 40
	r := rand.New(rand.NewPCG(12, 0))
	for name, f := range map[string]func([]float64) (Location, error){"Huber": HuberLocation, "Tukey": TukeyLocation} {
		var squares, stated float64
		x := make([]float64, n)
		for range runs {
			for i := range x {
				x[i] = 5 + r.NormFloat64()
			}
			l, err := f(x)
			if err != nil {
				t.Fatal(err)
			}
			squares += (l.Value - 5) * (l.Value - 5)
			stated += l.U * l.U
		}
		// 10 %: four standard errors of a variance from 3000 runs, and the small sample.
		if got := squares / runs * n * 0.95; math.Abs(got-1) > 0.1 {
			t.Errorf("%s: variance = %v times that of 95 %% efficiency", name, got)
		}
		if got := stated / squares; math.Abs(got-1) > 0.12 {
			t.Errorf("%s: stated over actual variance = %v, want 1", name, got)
		}
	}
	x := []float64{5.1, 4.9, 5.0, 5.05, 4.95, 5.02, 4.98, 500, 700, 900}
	if l, err := TukeyLocation(x); err != nil || math.Abs(l.Value-5) > 0.05 {
		t.Errorf("TukeyLocation with 30 %% wild = %+v, %v, want 5", l, err)
	}
	if l, err := HuberLocation(x); err != nil || math.Abs(l.Value-5) > 0.2 {
		t.Errorf("HuberLocation with 30 %% wild = %+v, %v, want about 5", l, err)
	}
	if l, err := HuberLocation([]float64{3, 3, 3, 9}); err != nil || l.Value != 3 || l.Scale != 0 {
		t.Errorf("HuberLocation of mostly equal values = %+v, %v, want 3", l, err)
	}
	if _, err := HuberLocation([]float64{3}); err == nil {
		t.Error("a robust mean of one value is given")
	}
}

func TestRobustLine(t *testing.T) {
	t.Parallel()
	const runs, n, sd = 400, 30, 0.1
	r := rand.New(rand.NewPCG(13, 0))
	x, y := make([]float64, n), make([]float64, n)
	var squares, stated float64
	for range runs {
		for i := range x {
			x[i] = float64(i) / 10
			y[i] = 2 + 3*x[i] + sd*r.NormFloat64()
			if i%4 == 3 {
				y[i] += 5 + 20*r.Float64() // a quarter is wild, all to one side
			}
		}
		l, err := RobustLine(x, y)
		if err != nil {
			t.Fatal(err)
		}
		squares += (l.Slope - 3) * (l.Slope - 3)
		stated += l.USlope * l.USlope
		if l.Weights[3] != 0 {
			t.Fatalf("a wild point weighs %v", l.Weights[3])
		}
	}
	if rms := math.Sqrt(squares / runs); rms > 1.25*sd/math.Sqrt(16.9) { // 16.9 = Sxx of the 23 good points
		t.Errorf("slope errs by %v rms, want about %v", rms, sd/math.Sqrt(16.9))
	}
	if ratio := stated / squares; ratio < 0.75 || ratio > 1.35 {
		t.Errorf("stated over actual variance of the slope = %v, want about 1", ratio)
	}
	exact, err := RobustLine([]float64{0, 1, 2, 3, 4}, []float64{1, 3, 5, 7, 100})
	if err != nil || exact.Slope != 2 || exact.Intercept != 1 {
		t.Errorf("RobustLine(exact but one) = %+v, %v, want 1 + 2 x", exact, err)
	}
	if _, err := RobustLine([]float64{1, 1, 1}, []float64{1, 2, 3}); !errors.Is(err, ErrRank) {
		t.Errorf("RobustLine(one x) = %v, want ErrRank", err)
	}
}
