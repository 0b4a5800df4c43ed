package fit

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// TestMinimiseOfALine: on a linear problem it must be the linear solution, covariance
// included, with derivatives given or taken.
func TestMinimiseOfALine(t *testing.T) {
	t.Parallel()
	x, b := thermometer()
	linear, err := LeastSquares(x, b, Options{})
	if err != nil {
		t.Fatal(err)
	}
	p := Problem{Observations: len(b), Start: []float64{0, 0}, Residuals: func(p, r []float64) {
		for i := range b {
			r[i] = b[i] - p[0] - p[1]*x.At(i, 1)
		}
	}}
	withDerivatives := p
	withDerivatives.Jacobian = func(_ []float64, j *mat.Dense) { j.Scale(-1, x) }
	for name, problem := range map[string]Problem{"differences": p, "derivatives": withDerivatives} {
		got, err := Minimise(problem, NonlinearOptions{})
		if err != nil {
			t.Fatal(err)
		}
		const same = 1e-8
		for j := range 2 {
			if !closeTo(got.Parameters[j], linear.Coefficients[j], same) || !closeTo(got.SD(j), linear.SD(j), same) {
				t.Errorf("%s: b%d = %v(%v), want %v(%v)", name, j, got.Parameters[j], got.SD(j), linear.Coefficients[j], linear.SD(j))
			}
		}
		if got.Dof != 9 || !closeTo(got.RSS, linear.RSS, same) {
			t.Errorf("%s: RSS = %v, dof = %d, want %v, 9", name, got.RSS, got.Dof, linear.RSS)
		}
	}
}

// TestRosenbrock: Rosenbrock, Comput. J. 3:175 (1960): minimum zero at (1, 1) from (-1.2, 1).
func TestRosenbrock(t *testing.T) {
	t.Parallel()
	got, err := Minimise(Problem{Observations: 2, Start: []float64{-1.2, 1}, Residuals: func(p, r []float64) {
		r[0], r[1] = 10*(p[1]-p[0]*p[0]), 1-p[0]
	}}, NonlinearOptions{KnownSigma: true})
	if err != nil || got.Status != Converged || math.Abs(got.Parameters[0]-1) > 1e-10 || math.Abs(got.Parameters[1]-1) > 1e-10 {
		t.Errorf("Minimise(Rosenbrock) = %+v, %v, want (1, 1)", got, err)
	}
}

// TestDomain: a model that is undefined for p <= 0 and whose first step leads there.
func TestDomain(t *testing.T) {
	t.Parallel()
	got, err := Minimise(Problem{Observations: 3, Start: []float64{0.01}, Residuals: func(p, r []float64) {
		for i := range r {
			r[i] = math.Log(p[0]) - []float64{0.9, 1.0, 1.1}[i]
		}
	}}, NonlinearOptions{})
	if err != nil || !closeTo(got.Parameters[0], math.E, 1e-9) {
		t.Errorf("Minimise(log p - 1) = %+v, %v, want e", got, err)
	}
}

func TestMinimiseRefuses(t *testing.T) {
	t.Parallel()
	nan := func(_, r []float64) { r[0], r[1], r[2] = math.NaN(), 0, 0 }
	flat := func(p, r []float64) { r[0], r[1], r[2] = p[0]+p[1], p[0]+p[1]-1, p[0]+p[1]-2 }
	for _, c := range []struct {
		name string
		p    Problem
		says string
	}{
		{"few", Problem{Observations: 1, Start: []float64{1, 2}, Residuals: flat}, "too few"},
		{"as many", Problem{Observations: 3, Start: []float64{1, 2, 3}, Residuals: flat}, "no scatter"},
		{"NaN start", Problem{Observations: 3, Start: []float64{math.NaN()}, Residuals: flat}, "not finite"},
		{"NaN residual", Problem{Observations: 3, Start: []float64{1}, Residuals: nan}, "not finite at the starting values"},
	} {
		if _, err := Minimise(c.p, NonlinearOptions{}); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error = %v, want %q", c.name, err, c.says)
		}
	}
	got, err := Minimise(Problem{Observations: 3, Start: []float64{5, 7}, Residuals: flat}, NonlinearOptions{})
	if !errors.Is(err, ErrRank) || got == nil || got.Covariance != nil || math.Abs(got.RSS-2) > 1e-9 {
		t.Errorf("two parameters of which only the sum counts = %+v, %v, want ErrRank and RSS 2", got, err)
	}
}
