package metrology

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// within checks an absolute difference.
func within(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g ± %.2g", what, got, want, tolerance)
	}
}

// endGauge is the model of GUM (JCGM 100:2008) H.1 in nm: lS, d, aS, theta, da, dtheta.
func endGauge(x []float64) float64 {
	lS, d, aS, theta, da, dtheta := x[0], x[1], x[2], x[3], x[4], x[5]
	return lS + d - lS*(da*theta+aS*dtheta)
}

func endGaugeInputs() []Estimate {
	inf := math.Inf(1)
	return []Estimate{
		{50000623, 25, 18}, {215, 9.7, 25.6}, {11.5e-6, 1.2e-6, inf},
		{-0.1, 0.41, inf}, {0, 0.58e-6, 50}, {0, 0.029, 2},
	}
}

// TestEndGauge: GUM H.1, table H.1: contributions 25, 9.7, 0, 0, 2.9, 16.7 nm, uc = 32 nm,
// veff = 16, U99 = 93 nm; with H.1.7's terms uc = 34 nm (from memory, recomputed 33.8).
// Unrounded figures recomputed from the published inputs.
func TestEndGauge(t *testing.T) {
	t.Parallel()
	p, err := Propagate(endGauge, endGaugeInputs(), PropagateOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if p.Value != 50000838 {
		t.Errorf("l = %v, want 50000838", p.Value)
	}
	within(t, "uc", p.U, 31.7106, 0.01)
	within(t, "veff", p.Dof, 16.656, 0.005)
	for i, want := range []float64{25, 9.7, 0, 0, 2.9, 16.7} {
		within(t, "contribution", math.Abs(p.Contributions[i]), want, 0.05)
	}
	// The GUM cuts the degrees of freedom to use its table.
	within(t, "U99", CoverageFactor(0.99, math.Floor(p.Dof))*p.U, 92.6, 0.1)

	second, err := Propagate(endGauge, endGaugeInputs(), PropagateOptions{SecondOrder: true})
	if err != nil {
		t.Fatal(err)
	}
	if second.U < 33.8 || second.U > 34.0 {
		t.Errorf("uc to second order = %v, want 33.8 to 34.0", second.U)
	}
	// The two terms: lS u(da) u(theta) = 11.7 nm and lS u(aS) u(dtheta) = 1.7 nm.
	within(t, "higher-order terms", math.Sqrt(second.Higher), math.Hypot(11.9, 1.74), 0.05)

	shares, err := p.Budget([]string{"lS", "d", "aS", "theta", "da", "dtheta"}, PropagateOptions{})
	if err != nil || shares[0].Source != "lS" || shares[1].Source != "dtheta" {
		t.Errorf("Budget = %v, %v, want lS then dtheta first", shares, err)
	}
	within(t, "share of lS", shares[0].Share, 625/(31.7106*31.7106), 1e-4)
}

// resistance holds the observations of GUM H.2, table H.2: V/V, I/A, phi/rad.
func resistance() [][]float64 {
	return [][]float64{
		{5.007, 19.663e-3, 1.0456}, {4.994, 19.639e-3, 1.0438}, {5.005, 19.640e-3, 1.0468},
		{4.990, 19.685e-3, 1.0428}, {4.999, 19.678e-3, 1.0433},
	}
}

// TestResistance: GUM H.2, tables H.2 to H.4: correlated inputs, joint results.
func TestResistance(t *testing.T) {
	t.Parallel()
	mean, cov, err := Covariance(resistance())
	if err != nil {
		t.Fatal(err)
	}
	const n = 5
	in := make([]Estimate, 3)
	for i, want := range []struct{ mean, u, slack float64 }{{4.9990, 0.0032, 5e-5}, {19.6610e-3, 0.0095e-3, 5e-8}, {1.04446, 0.00075, 5e-6}} {
		in[i] = Estimate{mean[i], math.Sqrt(cov.At(i, i) / n), n - 1}
		within(t, "mean", mean[i], want.mean, 1e-9)
		within(t, "u of the mean", in[i].U, want.u, want.slack)
	}
	r := Correlation(cov)
	within(t, "r(V,I)", r.At(0, 1), -0.35531, 1e-5)
	within(t, "r(V,phi)", r.At(0, 2), 0.85762, 1e-5)
	within(t, "r(I,phi)", r.At(1, 2), -0.64511, 1e-5)

	rxz := func(x, y []float64) {
		y[0], y[1], y[2] = x[0]/x[1]*math.Cos(x[2]), x[0]/x[1]*math.Sin(x[2]), x[0]/x[1]
	}
	out, joint, err := PropagateJoint(rxz, 3, in, PropagateOptions{Correlation: r})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []struct{ value, u float64 }{{127.732, 0.071}, {219.847, 0.2956}, {254.260, 0.236}} {
		within(t, "R, X, Z", out[i].Value, want.value, 1e-3)
		within(t, "u(R, X, Z)", out[i].U, want.u, 1e-3)
		if out[i].Dof != n-1 {
			t.Errorf("dof of result %d = %v, want %v: correlated inputs of the same five sets", i, out[i].Dof, n-1)
		}
	}
	rho := Correlation(joint)
	within(t, "r(R,X)", rho.At(0, 1), -0.588, 1e-3)
	within(t, "r(R,Z)", rho.At(0, 2), -0.485, 1e-3)
	within(t, "r(X,Z)", rho.At(1, 2), 0.993, 1e-3)

	// The trap: with r rounded to two decimals u(R) becomes 0.070.
	rounded := mat.NewSymDense(3, []float64{1, -0.36, 0.86, -0.36, 1, -0.65, 0.86, -0.65, 1})
	trap, err := Propagate(func(x []float64) float64 { return x[0] / x[1] * math.Cos(x[2]) }, in, PropagateOptions{Correlation: rounded})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "u(R) with rounded correlations", trap.U, 0.070, 5e-4)
}

// TestThermometerOffset: GUM H.3's y1 = -0.1712 with u = 0.0028776, 9 dof, and a common
// offset of 0 ± 0.005 added: u = 0.00576893, 145.38 dof (public metrology library).
func TestThermometerOffset(t *testing.T) {
	t.Parallel()
	e := Sum(Estimate{-0.17120379, 0.0028776, 9}, Known(0, 0.005))
	within(t, "u(y1)", e.U, 0.00576893, 5e-8)
	within(t, "dof", e.Dof, 145.38, 0.01)
	if e.Value != -0.17120379 {
		t.Errorf("y1 = %v", e.Value)
	}
}

// TestBetweenDays: GUM H.5, table H.9: ten days of five observations (V - 10 V, in uV).
func TestBetweenDays(t *testing.T) {
	t.Parallel()
	means := []float64{172, 116, 13, 144, 106, 31, 60, 125, 163, 41}
	sds := []float64{60, 77, 111, 101, 67, 93, 80, 73, 88, 86}
	groups := make([]Group, len(means))
	for i := range means {
		groups[i] = Group{N: 5, Mean: means[i], SD: sds[i]}
	}
	a, err := OneWay(groups)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "mean", a.Mean, 97, 0.5)
	within(t, "sa", math.Sqrt(a.BetweenSS/float64(a.BetweenDof)), 128, 0.5)
	within(t, "sb", a.ResidualSD, 85, 0.5)
	within(t, "F", a.F, 2.25, 0.02) // table data are rounded
	within(t, "between-day sd", a.BetweenSD, 42.6, 0.5)
	if a.BetweenDof != 9 || a.WithinDof != 40 {
		t.Errorf("dof = %d, %d, want 9, 40", a.BetweenDof, a.WithinDof)
	}
	// F95(9,40) = 2.124 and F97.5(9,40) = 2.452: the probability lies between.
	if a.P > 0.05 || a.P < 0.025 {
		t.Errorf("P = %v, want between 0.025 and 0.05", a.P)
	}
	m, err := MeanOfGroups(groups)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "s(means)", m.U*math.Sqrt(10), 57, 0.5)
	within(t, "u(mean)", m.U, 18, 0.5)
	if m.Dof != 9 {
		t.Errorf("dof = %v, want 9", m.Dof)
	}
}

// TestWelchSatterthwaite: GUM G.4.1 (from memory, recomputed), and four equal terms.
func TestWelchSatterthwaite(t *testing.T) {
	t.Parallel()
	p, err := Propagate(func(x []float64) float64 { return 7 * x[0] * x[1] * x[2] },
		[]Estimate{{1, 0.0025, 9}, {1, 0.0057, 4}, {1, 0.0082, 14}}, PropagateOptions{})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "relative uc", p.U/p.Value, 0.0103, 5e-5)
	within(t, "veff", p.Dof, 19.0, 0.05)
	within(t, "t95(19)", CoverageFactor(0.95, math.Round(p.Dof)), 2.09, 5e-3) // 18.98, printed as 19.0
	within(t, "U95", p.Interval(0.95).Width()/2/p.Value, 0.022, 5e-4)
	within(t, "four equal terms", WelchSatterthwaite([]float64{1, 1, 1, 1}, []float64{10, 10, 10, 10}), 40, 1e-12)
	if got := WelchSatterthwaite([]float64{0, 1}, []float64{3, math.Inf(1)}); !math.IsInf(got, 1) {
		t.Errorf("a term of zero limits the degrees of freedom to %v", got)
	}
}

// TestCoverageFactor: GUM table G.2.
func TestCoverageFactor(t *testing.T) {
	t.Parallel()
	p := []float64{0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973}
	for dof, row := range map[float64][]float64{
		1: {1.84, 6.31, 12.71, 13.97, 63.66, 235.78}, 6: {1.09, 1.94, 2.45, 2.52, 3.71, 4.90},
		2: {1.32, 2.92, 4.30, 4.53, 9.92, 19.21}, 8: {1.07, 1.86, 2.31, 2.37, 3.36, 4.28},
		3: {1.20, 2.35, 3.18, 3.31, 5.84, 9.22}, 10: {1.05, 1.81, 2.23, 2.28, 3.17, 3.96},
		4: {1.14, 2.13, 2.78, 2.87, 4.60, 6.62}, 20: {1.03, 1.72, 2.09, 2.13, 2.85, 3.42},
		5: {1.11, 2.02, 2.57, 2.65, 4.03, 5.51}, 50: {1.01, 1.68, 2.01, 2.05, 2.68, 3.16},
		16: {0, 0, 0, 0, 2.92078, 0}, math.Inf(1): {1.000, 1.645, 1.960, 2.000, 2.576, 3.000},
	} {
		for i, want := range row {
			// Two decimals as printed; the table's 235.78 was computed from an unrounded 99.73 %.
			slack := 0.005 + 1e-3*want*boolTo(want > 100)
			if got := CoverageFactor(p[i], dof); want != 0 && math.Abs(got-want) > slack {
				t.Errorf("CoverageFactor(%v, %v) = %v, want %v", p[i], dof, got, want)
			}
		}
	}
}

func boolTo(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func TestPropagateRefuses(t *testing.T) {
	t.Parallel()
	sum := func(x []float64) float64 { return x[0] + x[1] }
	ok := []Estimate{Known(1, 1), Known(2, 1)}
	for name, c := range map[string]struct {
		f func(x []float64) float64
		x []Estimate
		o PropagateOptions
	}{
		"NaN value":        {sum, []Estimate{Known(math.NaN(), 1), Known(2, 1)}, PropagateOptions{}},
		"negative u":       {sum, []Estimate{Known(1, -1), Known(2, 1)}, PropagateOptions{}},
		"no dof":           {sum, []Estimate{{1, 1, 0}, Known(2, 1)}, PropagateOptions{}},
		"correlation of 2": {sum, ok, PropagateOptions{Correlation: mat.NewSymDense(2, []float64{1, 2, 2, 1})}},
		"wrong size":       {sum, ok, PropagateOptions{Correlation: mat.NewSymDense(1, []float64{1})}},
		"second, joint":    {sum, ok, PropagateOptions{SecondOrder: true, Correlation: mat.NewSymDense(2, []float64{1, 0, 0, 1})}},
		"model NaN":        {func([]float64) float64 { return math.NaN() }, ok, PropagateOptions{}},
	} {
		if p, err := Propagate(c.f, c.x, c.o); err == nil {
			t.Errorf("%s: Propagate = %+v, want an error", name, p)
		}
	}
}

// TestSecondOrderOfASquare: y = x1² at x1 = 0: u² = 2 u^4 exactly (JCGM 101 9.4), where the
// first order sees nothing.
func TestSecondOrderOfASquare(t *testing.T) {
	t.Parallel()
	square := func(x []float64) float64 { return x[0] * x[0] }
	in := []Estimate{Known(0, 0.005)}
	first, err := Propagate(square, in, PropagateOptions{})
	if err != nil || first.U > 1e-12 {
		t.Errorf("first order: u = %v, %v, want 0", first.U, err)
	}
	second, err := Propagate(square, in, PropagateOptions{SecondOrder: true})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "u to second order", second.U, math.Sqrt2*0.005*0.005, 1e-11)
}

func TestWeightedMean(t *testing.T) {
	t.Parallel()
	c, err := WeightedMean([]Estimate{Known(10, 1), Known(13, 2)})
	if err != nil {
		t.Fatal(err)
	}
	// Weights 1 and 1/4: 10.6, u = sqrt(0.8), chi2 = 0.36 + 1.44.
	within(t, "mean", c.Value, 10.6, 1e-12)
	within(t, "u", c.U, math.Sqrt(0.8), 1e-12)
	within(t, "chi2", c.Chi2, 1.8, 1e-12)
	if !c.Consistent || c.Chi2Dof != 1 || !math.IsInf(c.Dof, 1) {
		t.Errorf("WeightedMean = %+v, want consistent", c)
	}
	far, err := WeightedMean([]Estimate{Known(10, 1), Known(20, 1)})
	if err != nil || far.Consistent {
		t.Fatalf("measurements ten u apart are called consistent: %+v, %v", far, err)
	}
	within(t, "widened u", far.U, 5, 1e-12) // chi2 = 50 of one dof, u = 1/sqrt(2)
	if _, err := WeightedMean([]Estimate{Known(10, 0)}); err == nil {
		t.Error("a measurement without uncertainty was weighed")
	}
}
