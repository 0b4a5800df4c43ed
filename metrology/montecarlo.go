package metrology

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
)

// Draws evaluates f on that many joint draws of independent inputs, in order, from one
// seeded source (JCGM 101:2008, 7.2 to 7.4). f must not keep its argument.
func Draws(f func(x []float64) float64, inputs []Distribution, trials int, seed uint64) ([]float64, error) {
	r := rand.New(rand.NewPCG(seed, 0))
	x, y := make([]float64, len(inputs)), make([]float64, trials)
	for k := range y {
		for i, d := range inputs {
			x[i] = d.Draw(r)
		}
		y[k] = f(x)
	}
	if err := checkDraws(y); err != nil {
		return nil, fmt.Errorf("draw: %w", err)
	}
	return y, nil
}

// MultiNormal draws vectors of given mean and covariance (JCGM 101 6.4.8).
type MultiNormal struct {
	mean []float64
	root *mat.TriDense // lower, root rootᵀ = covariance
}

// psdSlack is how far below zero, relative to the diagonal, a pivot may fall and still be
// taken for zero: covariances come out of other computations with their rounding.
const psdSlack = 1e-10

// NewMultiNormal factors the covariance, which may be singular (a quantity known exactly, or
// quantities that move together): Cholesky without exchange of rows, so that element i
// depends on the first i random numbers only and draws change smoothly with the covariance.
// The covariance must be positive semidefinite to 1e-10 of its diagonal.
func NewMultiNormal(mean []float64, covariance mat.Symmetric) (*MultiNormal, error) {
	n := len(mean)
	if covariance.SymmetricDim() != n {
		return nil, fmt.Errorf("factor a covariance: %d means for %d rows", n, covariance.SymmetricDim())
	}
	l := mat.NewTriDense(max(n, 1), mat.Lower, nil)
	for j := range n {
		for i := j; i < n; i++ {
			rest := covariance.At(i, j)
			for k := range j {
				rest -= l.At(i, k) * l.At(j, k)
			}
			if math.IsNaN(rest) || math.IsInf(rest, 0) {
				return nil, fmt.Errorf("factor a covariance: element %d, %d is not finite", i, j)
			}
			pivot := l.At(j, j)
			slack := psdSlack * math.Sqrt(math.Abs(covariance.At(i, i)*covariance.At(j, j)))
			switch {
			case i == j && rest < -slack:
				return nil, fmt.Errorf("factor a covariance: row %d has a negative variance left", j)
			case i == j && rest > slack:
				l.SetTri(j, j, math.Sqrt(rest))
			case i != j && pivot > 0:
				l.SetTri(i, j, rest/pivot)
			case i != j && math.Abs(rest) > math.Sqrt(psdSlack)*math.Sqrt(math.Abs(covariance.At(i, i)*covariance.At(j, j))):
				return nil, fmt.Errorf("factor a covariance: rows %d and %d correlate by more than one", j, i)
			}
		}
	}
	return &MultiNormal{mean: append([]float64(nil), mean...), root: l}, nil
}

// Draw fills x with one draw. It always takes as many normal numbers as there are elements.
func (m *MultiNormal) Draw(r *rand.Rand, x []float64) {
	copy(x, m.mean)
	for k := range m.mean {
		z := r.NormFloat64()
		for i := k; i < len(m.mean); i++ {
			x[i] += m.root.At(i, k) * z
		}
	}
}

// NumericalTolerance returns half a unit in the last of the given significant digits of u:
// with u = c * 10^l, c a whole number of that many digits, it is 10^l/2 (JCGM 101:2008, 7.9.2).
func NumericalTolerance(u float64, digits int) (float64, bool) {
	place, ok := Place(u, digits)
	return math.Pow10(place) / 2, ok
}

// Validates says whether an interval by the law of propagation agrees with one by draws: both
// ends within the numerical tolerance of u (JCGM 101:2008, clause 8). Where it does not,
// the draws are to be believed.
func Validates(propagated, drawn Interval, u float64, digits int) bool {
	tolerance, ok := NumericalTolerance(u, digits)
	return ok && math.Abs(propagated.Lo-drawn.Lo) <= tolerance && math.Abs(propagated.Hi-drawn.Hi) <= tolerance
}

// Covariance returns the means of the columns and their sample covariance (divisor n-1);
// samples holds one row per joint observation. Divide by n for that of the means (GUM (17)).
func Covariance(samples [][]float64) (mean []float64, cov *mat.SymDense, err error) {
	if len(samples) < 2 || len(samples[0]) == 0 {
		return nil, nil, fmt.Errorf("compute a covariance: %d observation(s) show no scatter", len(samples))
	}
	n := len(samples[0])
	columns := make([][]float64, n)
	for k, row := range samples {
		if len(row) != n {
			return nil, nil, fmt.Errorf("compute a covariance: observation %d has %d values, not %d", k, len(row), n)
		}
		for j, v := range row {
			columns[j] = append(columns[j], v)
		}
	}
	mean, cov = make([]float64, n), mat.NewSymDense(n, nil)
	for j, c := range columns {
		mean[j], _ = Variance(c)
		for i := range j + 1 {
			var s float64
			for k := range c {
				s += (columns[i][k] - mean[i]) * (c[k] - mean[j])
			}
			cov.SetSym(i, j, s/float64(len(c)-1))
		}
	}
	return mean, cov, nil
}

// Correlation returns the correlation matrix of a covariance; a quantity without variance
// correlates with nothing.
func Correlation(cov mat.Symmetric) *mat.SymDense {
	n := cov.SymmetricDim()
	r := mat.NewSymDense(n, nil)
	for i := range n {
		r.SetSym(i, i, 1)
		for j := range i {
			if d := cov.At(i, i) * cov.At(j, j); d > 0 {
				r.SetSym(i, j, min(1, max(-1, cov.At(i, j)/math.Sqrt(d))))
			}
		}
	}
	return r
}
