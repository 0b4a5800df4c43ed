package fit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrRank says that the data cannot tell the parameters apart: the columns of the design
// (or of the Jacobian) depend on each other to the precision of float64.
var ErrRank = errors.New("the data cannot tell the parameters apart")

// qr is the Householder factorisation A P D = Q R of an m-by-n matrix, m >= n, with its
// columns scaled to length one (D) and exchanged so that the longest remaining one comes
// next (P). Scaling makes the factor blind to the units of the parameters.
// Source: Golub & Van Loan, Matrix Computations, 4th ed., 5.2.2, 5.3.3 and 5.4.2.
type qr struct {
	m, n  int
	a     []float64 // column after column: the reflectors below, R on and above the diagonal
	diag  []float64 // R's diagonal
	scale []float64 // length of each original column
	perm  []int     // column j of the factor is original column perm[j]
}

// factor makes the factorisation; a (row after row, m by n) is copied.
func factor(a []float64, m, n int) *qr {
	f := &qr{m: m, n: n, a: make([]float64, m*n), diag: make([]float64, n), scale: make([]float64, n), perm: make([]int, n)}
	for j := range n {
		f.perm[j] = j
		col := f.col(j)
		for i := range m {
			col[i] = a[i*n+j]
		}
		f.scale[j] = norm(col)
		if f.scale[j] > 0 {
			for i := range col {
				col[i] /= f.scale[j]
			}
		}
	}
	for k := range n {
		f.pivot(k)
		f.reflect(k)
	}
	return f
}

func (f *qr) col(j int) []float64 { return f.a[j*f.m : (j+1)*f.m] }

// pivot brings the longest remaining column to place k.
func (f *qr) pivot(k int) {
	best, length := k, -1.0
	for j := k; j < f.n; j++ {
		if l := norm(f.col(j)[k:]); l > length {
			best, length = j, l
		}
	}
	if best == k {
		return
	}
	a, b := f.col(k), f.col(best)
	for i := range a {
		a[i], b[i] = b[i], a[i]
	}
	f.diag[k], f.diag[best] = f.diag[best], f.diag[k]
	f.scale[k], f.scale[best] = f.scale[best], f.scale[k]
	f.perm[k], f.perm[best] = f.perm[best], f.perm[k]
}

// reflect turns column k into a multiple of e_k and applies the reflector to the rest.
func (f *qr) reflect(k int) {
	v := f.col(k)[k:]
	length := norm(v)
	if length == 0 {
		f.diag[k] = 0
		return
	}
	if v[0] > 0 {
		length = -length // no cancellation in v[0] - length
	}
	f.diag[k] = length
	v[0] -= length
	for j := k + 1; j < f.n; j++ {
		mirror(v, f.col(j)[k:])
	}
}

// mirror reflects x in the hyperplane across v: x - 2 v (v.x)/(v.v).
func mirror(v, x []float64) {
	vv, vx := dot(v, v), dot(v, x)
	if vv == 0 {
		return
	}
	t := 2 * vx / vv
	for i := range v {
		x[i] -= t * v[i]
	}
}

// rank counts the diagonal entries that stand above rounding.
func (f *qr) rank() int {
	if f.n == 0 || f.diag[0] == 0 {
		return 0
	}
	const eps = 0x1p-52
	least := float64(max(f.m, f.n)) * eps * math.Abs(f.diag[0])
	for k, d := range f.diag {
		if math.IsNaN(d) || math.Abs(d) <= least {
			return k
		}
	}
	return f.n
}

// solve returns the x that minimises |A x - b|; b is left alone. The rank must be full.
func (f *qr) solve(b []float64) []float64 {
	c := append([]float64(nil), b...)
	for k := range f.n {
		if f.diag[k] != 0 {
			mirror(f.col(k)[k:], c[k:])
		}
	}
	z := c[:f.n]
	for k := f.n - 1; k >= 0; k-- {
		for j := k + 1; j < f.n; j++ {
			z[k] -= f.col(j)[k] * z[j]
		}
		z[k] /= f.diag[k]
	}
	x := make([]float64, f.n)
	for k, j := range f.perm {
		x[j] = z[k] / f.scale[k]
	}
	return x
}

// covariance returns (AᵀA)⁻¹ = P D R⁻¹R⁻ᵀ D Pᵀ. The rank must be full.
func (f *qr) covariance() *mat.SymDense {
	n := f.n
	inv := make([]float64, n*n) // R⁻¹, row after row
	for j := range n {
		inv[j*n+j] = 1 / f.diag[j]
		for i := j - 1; i >= 0; i-- {
			var s float64
			for k := i + 1; k <= j; k++ {
				s += f.col(k)[i] * inv[k*n+j]
			}
			inv[i*n+j] = -s / f.diag[i]
		}
	}
	cov := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			var s float64
			for k := j; k < n; k++ {
				s += inv[i*n+k] * inv[j*n+k]
			}
			cov.SetSym(f.perm[i], f.perm[j], s/(f.scale[i]*f.scale[j]))
		}
	}
	return cov
}

func dot(a, b []float64) float64 {
	var s float64
	for i, v := range a {
		s += v * b[i]
	}
	return s
}

// norm is the Euclidean length, safe from overflow and underflow.
func norm(v []float64) float64 {
	var largest float64
	for _, x := range v {
		largest = max(largest, math.Abs(x))
	}
	if largest == 0 || math.IsInf(largest, 0) || math.IsNaN(largest) {
		return largest
	}
	if largest > 1e-100 && largest < 1e100 {
		return math.Sqrt(dot(v, v))
	}
	var s float64
	for _, x := range v {
		s += (x / largest) * (x / largest)
	}
	return largest * math.Sqrt(s)
}
