package fit

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Polynomial is a polynomial in x fitted by least squares, held in powers of the scaled
// variable t = (x - Centre)/HalfSpan so that its design is as well conditioned as powers are.
type Polynomial struct {
	*Linear          // of the coefficients of t^0, t^1, ...
	Centre, HalfSpan float64
}

// FitPolynomial fits a polynomial of the given degree. It needs degree+1 different x.
func FitPolynomial(x, y []float64, degree int, o Options) (*Polynomial, error) {
	if degree < 0 || len(x) != len(y) || len(x) == 0 || !finite(x) {
		return nil, fmt.Errorf("fit a polynomial of degree %d: %d x and %d y values, or one that is not finite", degree, len(x), len(y))
	}
	lo, hi := x[0], x[0]
	for _, v := range x {
		lo, hi = min(lo, v), max(hi, v)
	}
	p := &Polynomial{Centre: lo + (hi-lo)/2, HalfSpan: (hi - lo) / 2}
	if p.HalfSpan == 0 {
		p.HalfSpan = 1
	}
	design := mat.NewDense(len(x), degree+1, nil)
	for i, v := range x {
		t, power := (v-p.Centre)/p.HalfSpan, 1.0
		for j := range degree + 1 {
			design.Set(i, j, power)
			power *= t
		}
	}
	var err error
	if p.Linear, err = LeastSquares(design, y, o); err != nil {
		return nil, fmt.Errorf("fit a polynomial of degree %d: %w", degree, err)
	}
	return p, nil
}

// At returns the k-th derivative (k = 0: the value) at x and its standard uncertainty, which
// covers the scatter of the data, not the error of describing them by a polynomial.
func (p *Polynomial) At(x float64, k int) (value, u float64) {
	t := (x - p.Centre) / p.HalfSpan
	c := make([]float64, len(p.Coefficients))
	for j := k; j < len(c); j++ {
		factor := 1.0
		for i := range k {
			factor *= float64(j - i)
		}
		c[j] = factor * math.Pow(t, float64(j-k)) / math.Pow(p.HalfSpan, float64(k))
	}
	return p.Predict(c)
}
