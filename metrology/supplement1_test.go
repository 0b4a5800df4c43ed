package metrology

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// trials and the seed of the checks against JCGM 101:2008, clause 9. Its inputs of 9.4 and
// 9.5 and outputs of 9.2 are confirmed, the other outputs from memory; all recomputed by
// a second program with 4e6 trials.
const (
	trials  = 1_000_000
	theSeed = 101
)

// drawn checks mean (4 standard errors), u (0.5 %) and interval ends (1 % of the width,
// more where the shortest interval is flat).
func drawn(t *testing.T, name string, y []float64, mean, u float64, iv Interval, p, slack float64) {
	t.Helper()
	m, v := Variance(y)
	within(t, name+": mean", m, mean, 4*u/math.Sqrt(float64(len(y))))
	within(t, name+": u", math.Sqrt(v), u, 0.005*u)
	got, err := ShortestInterval(y, p)
	if err != nil {
		t.Fatal(err)
	}
	slack = max(slack, 0.01*iv.Width())
	within(t, name+": low end", got.Lo, iv.Lo, slack)
	within(t, name+": high end", got.Hi, iv.Hi, slack)
}

func sum(x []float64) float64 {
	var s float64
	for _, v := range x {
		s += v
	}
	return s
}

func mustDraw(t *testing.T, f func([]float64) float64, in ...Distribution) []float64 {
	t.Helper()
	y, err := Draws(f, in, trials, theSeed)
	if err != nil {
		t.Fatal(err)
	}
	return y
}

// TestAdditiveModels: JCGM 101 9.2.
func TestAdditiveModels(t *testing.T) {
	t.Parallel()
	n := Normal{0, 1}
	drawn(t, "9.2.2", mustDraw(t, sum, n, n, n, n), 0, 2, Interval{-3.92, 3.92}, 0.95, 0)

	// Exact: 2 sqrt(3) (2 - (3/5)^(1/4)) = 3.8807.
	half := math.Sqrt(3)
	r := Rectangular{-half, half}
	end := 2 * half * (2 - math.Pow(0.6, 0.25))
	drawn(t, "9.2.3", mustDraw(t, sum, r, r, r, r), 0, 2, Interval{-end, end}, 0.95, 0)

	wide := mustDraw(t, sum, r, r, r, Rectangular{-10 * half, 10 * half})
	u := math.Sqrt(103)
	drawn(t, "9.2.4", wide, 0, u, Interval{-17.0, 17.0}, 0.95, 0.4) // a flat top: the shortest wanders
	propagated := Known(0, u).Interval(0.95)
	within(t, "9.2.4: propagated end", propagated.Hi, 19.9, 0.05)
	symmetric, err := SymmetricInterval(wide, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "9.2.4: symmetric end", symmetric.Hi, 17.0, 0.1)
	if Validates(propagated, symmetric, u, 2) {
		t.Error("9.2.4: the law of propagation is called valid though a rectangle dominates")
	}
	if !Validates(Known(0, 2).Interval(0.95), Interval{-3.92, 3.92}, 2, 2) {
		t.Error("9.2.2: the law of propagation is called invalid though all is normal")
	}
}

// mass is the model of JCGM 101 9.3 in mg: mRc, dmRc, ra, rW, rR.
func mass(x []float64) float64 {
	return (x[0]+x[1])*(1+(x[2]-1.2)*(1/x[3]-1/x[4])) - 100000
}

// TestMassCalibration: JCGM 101 9.3, table 6.
func TestMassCalibration(t *testing.T) {
	t.Parallel()
	y := mustDraw(t, mass, Normal{100000.000, 0.050}, Normal{1.234, 0.020},
		Rectangular{1.10, 1.30}, Rectangular{7000, 9000}, Rectangular{7950, 8050})
	const flat = 0.003 // recomputed: the shortest interval's ends wander by this much
	drawn(t, "9.3", y, 1.2340, 0.0755, Interval{1.0834, 1.3825}, 0.95, flat)
	iv, err := ShortestInterval(y, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	in := []Estimate{Known(100000, 0.050), Known(1.234, 0.020), Known(1.2, 0.1/math.Sqrt(3)), Known(8000, 1000/math.Sqrt(3)), Known(8000, 50/math.Sqrt(3))}
	first, err := Propagate(mass, in, PropagateOptions{})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "9.3: u, first order", first.U, 0.0539, 5e-5)
	within(t, "9.3: low end, first order", first.Interval(0.95).Lo, 1.1285, 2e-4)
	within(t, "9.3: high end, first order", first.Interval(0.95).Hi, 1.3395, 2e-4)
	second, err := Propagate(mass, in, PropagateOptions{SecondOrder: true})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "9.3: u, second order", second.U, 0.0750, 5e-5)
	within(t, "9.3: low end, second order", second.Interval(0.95).Lo, 1.0870, 2e-4)
	within(t, "9.3: high end, second order", second.Interval(0.95).Hi, 1.3810, 2e-4)
	// One significant digit: tolerance 0.005 mg (JCGM 101 9.3.2).
	if Validates(first.Interval(0.95), iv, 0.0755, 1) {
		t.Error("9.3: the first order is called valid")
	}
	if !Validates(second.Interval(0.95), Interval{1.0834, 1.3825}, 0.0754, 1) {
		t.Error("9.3: the second order is called invalid")
	}
}

// TestComparisonLoss: JCGM 101 9.4: dY = X1² + X2², u = 0.005, x2 = 0, in 1e-6.
func TestComparisonLoss(t *testing.T) {
	t.Parallel()
	const u0 = 0.005
	for _, c := range []struct {
		name    string
		r, x1   float64
		mean, u float64
		iv      Interval
		slack   float64
	}{
		{"r 0, x1 0", 0, 0, 50, 50, Interval{0, 150}, 0},
		{"r 0, x1 0.010", 0, 0.010, 150, 112, Interval{0, 367}, 0},
		{"r 0, x1 0.050", 0, 0.050, 2550, 502, Interval{1592.5, 3547.5}, 30}, // flat
		{"r 0.9, x1 0", 0.9, 0, 50, 67.27, Interval{0, 185}, 0},
		{"r 0.9, x1 0.010", 0.9, 0.010, 150, 121, Interval{13, 398}, 5},
		{"r 0.9, x1 0.050", 0.9, 0.050, 2550, 505, Interval{1627, 3556}, 40}, // flat
	} {
		cov := mat.NewSymDense(2, []float64{u0 * u0, c.r * u0 * u0, c.r * u0 * u0, u0 * u0})
		m, err := NewMultiNormal([]float64{c.x1, 0}, cov)
		if err != nil {
			t.Fatal(err)
		}
		// Exact: the mean is x1² + 2u², the variance 4u⁴(1+r²) + 4x1²u² for x2 = 0.
		exact := 1e6 * math.Sqrt(4*math.Pow(u0, 4)*(1+c.r*c.r)+4*c.x1*c.x1*u0*u0)
		within(t, c.name+": printed u", c.u, exact, 0.6)
		r := rand.New(rand.NewPCG(theSeed, 0))
		x, y := make([]float64, 2), make([]float64, trials)
		for k := range y {
			m.Draw(r, x)
			y[k] = 1e6 * (x[0]*x[0] + x[1]*x[1])
		}
		drawn(t, c.name, y, c.mean, exact, c.iv, 0.95, c.slack)
	}
	// The trap: at x1 = 0 the first order gives u = 0.
	p, err := Propagate(func(x []float64) float64 { return x[0]*x[0] + x[1]*x[1] }, []Estimate{Known(0, u0), Known(0, u0)}, PropagateOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if Validates(p.Interval(0.95), Interval{0, 150e-6}, 50e-6, 2) {
		t.Error("an interval of no width is called valid")
	}
}

// TestGaugeBlock: JCGM 101 9.5, nine inputs, in nm; 99 % interval.
func TestGaugeBlock(t *testing.T) {
	t.Parallel()
	model := func(x []float64) float64 {
		ls, d, d1, d2, as, theta0, delta, da, dth := x[0], x[1], x[2], x[3], x[4], x[5], x[6], x[7], x[8]
		return ls + d + d1 + d2 - ls*(da*(theta0+delta)+as*dth) - 50e6
	}
	y := mustDraw(t, model, StudentT{50000623, 25, 18}, StudentT{215, 6, 24}, StudentT{0, 4, 5}, StudentT{0, 7, 8},
		Rectangular{9.5e-6, 13.5e-6}, Normal{-0.1, 0.2}, Arcsine{-0.5, 0.5},
		Trapezoid{-1e-6, 1e-6, 0.1e-6}, Trapezoid{-0.050, 0.050, 0.025})
	const flat = 3
	drawn(t, "9.5", y, 838, 35.8, Interval{744.5, 931.8}, 0.99, flat)
}

// TestDistributions checks mean and variance against JCGM 101, clause 6.
func TestDistributions(t *testing.T) {
	t.Parallel()
	const n = 400_000
	for name, c := range map[string]struct {
		d        Distribution
		mean, sd float64
	}{
		"normal":      {Normal{3, 2}, 3, 2},
		"t":           {StudentT{3, 2, 6}, 3, 2 * math.Sqrt(6.0/4)},
		"rectangular": {Rectangular{1, 7}, 4, 6 / math.Sqrt(12)},
		"triangular":  {Triangular{1, 7}, 4, 6 / math.Sqrt(24)},
		"arcsine":     {Arcsine{1, 7}, 4, 6 / math.Sqrt(8)},
		"trapezoid":   {Trapezoid{1, 7, 1}, 4, math.Sqrt(36.0/12 + 1.0/9)},
		"estimate":    {Estimate{3, 2, 6}.Distribution(), 3, 2 * math.Sqrt(6.0/4)},
		"known":       {Known(3, 2).Distribution(), 3, 2},
	} {
		y, err := Draws(func(x []float64) float64 { return x[0] }, []Distribution{c.d}, n, 7)
		if err != nil {
			t.Fatal(err)
		}
		m, v := Variance(y)
		within(t, name+": mean", m, c.mean, 4*c.sd/math.Sqrt(n))
		within(t, name+": sd", math.Sqrt(v), c.sd, 0.01*c.sd) // 1 %: t of 6 dof has heavy tails
	}
}

// TestStudentTails: quantiles of the drawn t against GUM table G.2 (5 dof: 2.57 at 95 %).
func TestStudentTails(t *testing.T) {
	t.Parallel()
	y := mustDraw(t, sum, StudentT{0, 1, 5})
	iv, err := SymmetricInterval(y, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "97.5 % quantile", iv.Hi, 2.5706, 0.02)
	within(t, "2.5 % quantile", iv.Lo, -2.5706, 0.02)
}

func TestDrawsAreSeeded(t *testing.T) {
	t.Parallel()
	in := []Distribution{Normal{0, 1}, Triangular{0, 1}}
	a, errA := Draws(sum, in, 1000, 3)
	b, errB := Draws(sum, in, 1000, 3)
	c, errC := Draws(sum, in, 1000, 4)
	if errA != nil || errB != nil || errC != nil {
		t.Fatal(errA, errB, errC)
	}
	same, other := true, true
	for i := range a {
		same = same && a[i] == b[i]
		other = other && a[i] == c[i]
	}
	if !same || other {
		t.Errorf("same seed same draws: %v; other seed same draws: %v", same, other)
	}
}

func TestMultiNormal(t *testing.T) {
	t.Parallel()
	// Singular: the third is the sum of the first two, the fourth is known exactly.
	cov := mat.NewSymDense(4, []float64{
		4, 1, 5, 0,
		1, 9, 10, 0,
		5, 10, 15, 0,
		0, 0, 0, 0,
	})
	m, err := NewMultiNormal([]float64{1, 2, 3, 4}, cov)
	if err != nil {
		t.Fatal(err)
	}
	const n = 100_000
	r := rand.New(rand.NewPCG(9, 0))
	samples := make([][]float64, n)
	for k := range samples {
		samples[k] = make([]float64, 4)
		m.Draw(r, samples[k])
		if x := samples[k]; math.Abs(x[0]+x[1]-x[2]) > 1e-6 || x[3] != 4 {
			t.Fatalf("draw %v breaks what the covariance says", x)
		}
	}
	_, got, err := Covariance(samples)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 4 {
		for j := range 4 {
			slack := 4 * math.Sqrt((cov.At(i, i)*cov.At(j, j)+cov.At(i, j)*cov.At(i, j))/n)
			within(t, "covariance", got.At(i, j), cov.At(i, j), slack+1e-12)
		}
	}
	for name, bad := range map[string]*mat.SymDense{
		"negative variance": mat.NewSymDense(2, []float64{1, 0, 0, -1}),
		"correlation above": mat.NewSymDense(2, []float64{1, 2, 2, 1}),
		"from nothing":      mat.NewSymDense(2, []float64{0, 1, 1, 1}),
		"NaN":               mat.NewSymDense(2, []float64{1, math.NaN(), math.NaN(), 1}),
	} {
		if _, err := NewMultiNormal([]float64{0, 0}, bad); err == nil {
			t.Errorf("%s is accepted", name)
		}
	}
}

// TestThermalExpansion: NIST TN 1900 (Possolo, 2015): (L1-L0)/(L0(T1-T0)) with t
// distributions of 3 dof whose standard deviations are the stated ones: 1.7266e-5, u = 1.76e-6
// by propagation, 1.74e-6 by draws (public test file).
func TestThermalExpansion(t *testing.T) {
	t.Parallel()
	expansion := func(x []float64) float64 { return (x[1] - x[0]) / (x[0] * (x[3] - x[2])) }
	in := []Estimate{Known(1.4999, 1e-4), Known(1.5021, 2e-4), Known(288.15, 0.02), Known(373.10, 0.05)}
	p, err := Propagate(expansion, in, PropagateOptions{})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "coefficient", p.Value, 1.7266e-5, 5e-10)
	within(t, "u", p.U, 1.76e-6, 5e-9)
	var ts []Distribution
	for _, e := range in {
		ts = append(ts, StudentT{e.Value, e.U / math.Sqrt(3), 3})
	}
	// 3 %: the fourth moment of t with 3 dof is infinite, so its drawn u settles slowly.
	within(t, "u by draws", SD(mustDraw(t, expansion, ts...)), 1.75e-6, 0.03*1.75e-6)
}
