package fit

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Options says what is known of the data's scatter. The zero value: equal, unknown.
type Options struct {
	// Sigma is each observation's standard uncertainty, in its unit. The covariance is then
	// (XᵀV⁻¹X)⁻¹ as it stands, and RSS is chi-squared.
	Sigma []float64
	// Weights are relative: variance proportional to 1/weight, its size estimated from the
	// residuals. A weight of zero leaves the observation out. Not together with Sigma.
	Weights []float64
}

// Linear is the solution of a linear least-squares problem y = X b + e.
type Linear struct {
	Coefficients []float64
	Covariance   *mat.SymDense // of the coefficients; see Options.Sigma
	Residuals    []float64     // y - X b, in the unit of y
	RSS          float64       // sum of (weighted) squared residuals; chi-squared with Sigma
	ResidualSD   float64       // sqrt(RSS/Dof); 0 where Dof is 0
	R2           float64       // about the mean when X holds a constant column, else about zero
	F            float64       // of the regression, beside the constant; +Inf for an exact fit
	Dof          int           // observations with weight minus parameters
}

// SD returns the standard uncertainty of coefficient j.
func (l *Linear) SD(j int) float64 { return math.Sqrt(l.Covariance.At(j, j)) }

// Predict returns the value c·b of a linear combination of the coefficients and its
// standard uncertainty sqrt(cᵀ V c): the covariance terms are what a prediction stands on.
func (l *Linear) Predict(c []float64) (value, u float64) {
	return dot(c, l.Coefficients), math.Sqrt(max(0, mat.Inner(mat.NewVecDense(len(c), c), l.Covariance, mat.NewVecDense(len(c), c))))
}

// LeastSquares minimises Σ w (y - X b)² by Householder QR with scaled and pivoted columns and
// one step of refinement (residuals by fused multiply-add). Preconditions: x has as many rows
// as y, at least as many rows as columns, all finite. Without Sigma, no degrees of freedom
// means that the covariance is unknown: that is an error. ErrRank where columns depend on
// each other. Accuracy on NIST's reference sets: see TestStRDLinear.
// Source: Golub & Van Loan, Matrix Computations, 4th ed., 5.3; Björck, Numerical Methods for
// Least Squares Problems (1996), 2.9.
func LeastSquares(x *mat.Dense, y []float64, o Options) (*Linear, error) {
	m, n := x.Dims()
	root, used, err := rootWeights(y, o)
	if err != nil {
		return nil, fmt.Errorf("fit by least squares: %w", err)
	}
	if m != len(y) {
		return nil, fmt.Errorf("fit by least squares: %d rows for %d observations", m, len(y))
	}
	if used < n || used == n && o.Sigma == nil {
		return nil, fmt.Errorf("fit by least squares: %d observations are too few for %d parameters", used, n)
	}
	a, b := make([]float64, m*n), make([]float64, m)
	for i := range m {
		for j := range n {
			a[i*n+j] = x.At(i, j) * root[i]
		}
		b[i] = y[i] * root[i]
	}
	if !finite(a) || !finite(b) {
		return nil, fmt.Errorf("fit by least squares: a number of the data is not finite")
	}
	f := factor(a, m, n)
	if f.rank() < n {
		return nil, fmt.Errorf("fit by least squares: %w", ErrRank)
	}
	coef := f.solve(b)
	for j, d := range f.solve(residuals(a, b, coef)) {
		coef[j] += d
	}
	l := &Linear{Coefficients: coef, Dof: used - n, Covariance: f.covariance()}
	l.finish(x, y, root, o.Sigma != nil)
	return l, nil
}

// finish computes what follows from the coefficients.
func (l *Linear) finish(x *mat.Dense, y, root []float64, absolute bool) {
	m, n := x.Dims()
	l.Residuals = make([]float64, m)
	row := make([]float64, n)
	var sw, swy float64
	for i := range m {
		mat.Row(row, i, x)
		l.Residuals[i] = residual(row, l.Coefficients, y[i])
		r := l.Residuals[i] * root[i]
		l.RSS += r * r
		sw += root[i] * root[i]
		swy += root[i] * root[i] * y[i]
	}
	if l.Dof > 0 {
		l.ResidualSD = math.Sqrt(l.RSS / float64(l.Dof))
	}
	centre, terms := 0.0, n
	if hasConstant(x) {
		centre, terms = swy/sw, n-1
	}
	var total float64
	for i := range m {
		d := (y[i] - centre) * root[i]
		total += d * d
	}
	if total > 0 {
		l.R2 = 1 - l.RSS/total
	}
	l.F = (total - l.RSS) / float64(terms) / (l.ResidualSD * l.ResidualSD)
	if !absolute {
		l.Covariance.ScaleSym(l.ResidualSD*l.ResidualSD, l.Covariance)
	}
}

// rootWeights returns the square root of each observation's weight and how many count.
func rootWeights(y []float64, o Options) (root []float64, used int, err error) {
	root = make([]float64, len(y))
	given := o.Sigma
	switch {
	case o.Sigma != nil && o.Weights != nil:
		return nil, 0, fmt.Errorf("both standard uncertainties and weights are given")
	case o.Weights != nil:
		given = o.Weights
	case o.Sigma == nil:
		for i := range root {
			root[i] = 1
		}
		return root, len(y), nil
	}
	if len(given) != len(y) {
		return nil, 0, fmt.Errorf("%d weights for %d observations", len(given), len(y))
	}
	for i, g := range given {
		if math.IsNaN(g) || math.IsInf(g, 0) || g < 0 || g == 0 && o.Sigma != nil {
			return nil, 0, fmt.Errorf("weight or standard uncertainty %d is %g", i, g)
		}
		if o.Sigma != nil {
			root[i] = 1 / g
		} else {
			root[i] = math.Sqrt(g)
		}
		if root[i] > 0 {
			used++
		}
	}
	return root, used, nil
}

// residuals returns b - A c for A row after row.
func residuals(a, b, c []float64) []float64 {
	n := len(c)
	r := make([]float64, len(b))
	for i := range b {
		r[i] = residual(a[i*n:(i+1)*n], c, b[i])
	}
	return r
}

// residual returns y - row·c in twice the working precision: products and sums are split
// into value and error (Ogita, Rump & Oishi, SIAM J. Sci. Comput. 26:1955, 2005, Dot2).
func residual(row, c []float64, y float64) float64 {
	sum, lost := y, 0.0
	for j, v := range row {
		p := -v * c[j]
		pLost := math.FMA(-v, c[j], -p)
		t := sum + p
		z := t - sum
		lost += (sum - (t - z)) + (p - z) + pLost
		sum = t
	}
	return sum + lost
}

// hasConstant says whether a column of x is one and the same number, not zero.
func hasConstant(x *mat.Dense) bool {
	m, n := x.Dims()
	for j := range n {
		i := 1
		for i < m && x.At(i, j) == x.At(0, j) {
			i++
		}
		if i == m && x.At(0, j) != 0 {
			return true
		}
	}
	return false
}

func finite(v []float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
