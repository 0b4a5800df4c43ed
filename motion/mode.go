package motion

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"
)

// bump is one mode of a posterior: where it is and a covariance that fits it.
type bump struct {
	u     []float64
	cov   *mat.SymDense
	value float64 // log-density at u
}

// climb looks for the nearest maximum of f from u by the simplex method of Nelder & Mead
// (through gonum), with steps as the size of the first simplex, within a number of evaluations.
func climb(f func([]float64) float64, u, steps []float64, evaluations int) ([]float64, float64) {
	d := len(u)
	scaled := func(x []float64) float64 {
		v := make([]float64, d)
		for i := range v {
			v[i] = u[i] + x[i]*steps[i]
		}
		l := f(v)
		if math.IsInf(l, 0) || math.IsNaN(l) {
			return 1e300
		}
		return -l
	}
	method := &optimize.NelderMead{SimplexSize: 1}
	settings := &optimize.Settings{
		FuncEvaluations: evaluations,
		Converger:       &optimize.FunctionConverge{Absolute: 0.02, Iterations: 6 * d},
	}
	r, err := optimize.Minimize(optimize.Problem{Func: scaled}, make([]float64, d), settings, method)
	if r == nil || (err != nil && r.X == nil) || r.F >= 1e300 {
		return u, f(u)
	}
	best := make([]float64, d)
	for i := range best {
		best[i] = u[i] + r.X[i]*steps[i]
	}
	return best, -r.F
}

// curvature fits a covariance to f at its maximum u: second differences over steps at which
// f falls by about one half to two, so that it describes the bulk and not the very top. No standard
// deviation exceeds widest.
func curvature(f func([]float64) float64, b *bump, steps, widest []float64) *mat.SymDense {
	u, top := b.u, b.value
	d := len(u)
	h := make([]float64, d)
	diag := make([]float64, d)
	at := func(i int, a float64, j int, b float64) float64 {
		v := append([]float64(nil), u...)
		v[i] += a
		if j >= 0 {
			v[j] += b
		}
		return f(v)
	}
	for i := range h {
		h[i] = steps[i]
		for range 8 {
			up, down := at(i, h[i], -1, 0), at(i, -h[i], -1, 0)
			drop := top - 0.5*(up+down)
			if math.IsInf(up, 0) || math.IsInf(down, 0) {
				drop = top - math.Max(up, down)
			}
			diag[i] = math.Max(2*drop/(h[i]*h[i]), 1/(widest[i]*widest[i]))
			if drop > 2.5 {
				h[i] *= 0.5
			} else if drop < 0.4 {
				h[i] *= 1.8
			} else {
				break
			}
		}
	}
	H := mat.NewSymDense(d, nil)
	for i := range d {
		H.SetSym(i, i, diag[i])
		for j := range i {
			pp := at(i, h[i]*0.7, j, h[j]*0.7)
			mm := at(i, -h[i]*0.7, j, -h[j]*0.7)
			// f = top - (Hii a2 + Hjj b2)/2 - Hij a b along the diagonal
			c := (top - 0.5*(pp+mm) - 0.5*0.49*(diag[i]*h[i]*h[i]+diag[j]*h[j]*h[j])) / (0.49 * h[i] * h[j])
			lim := 0.9 * math.Sqrt(diag[i]*diag[j])
			if math.IsNaN(c) || math.IsInf(c, 0) {
				c = 0
			}
			H.SetSym(i, j, math.Max(-lim, math.Min(lim, c)))
		}
	}
	var chol mat.Cholesky
	cov := mat.NewSymDense(d, nil)
	if chol.Factorize(H) && chol.InverseTo(cov) == nil {
		return cov
	}
	for i := range d {
		for j := range i {
			cov.SetSym(i, j, 0)
		}
		cov.SetSym(i, i, 1/diag[i])
	}
	return cov
}
