package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// step solves min |J s + r| subject to |D s| <= radius. The multiplier λ is found by
// Newton's method on 1/|D s(λ)| - 1/radius with safeguards (Moré 1978, section 5), to 10 %.
func (s *search) step(f *qr) []float64 {
	full := f.rank() == f.n
	lower := 0.0
	if full {
		x := s.negated(f.solve(s.r))
		excess := s.scaledNorm(x) - s.radius
		if excess <= 0.1*s.radius {
			s.lambda = 0
			return x
		}
		lower = excess / (s.radius * s.slope(f, x))
	}
	upper := s.steepest() / s.radius
	if upper == 0 {
		upper = math.SmallestNonzeroFloat64 / min(s.radius, 0.1)
	}
	s.lambda = min(max(s.lambda, lower), upper)
	var x []float64
	for range 10 {
		if s.lambda == 0 {
			s.lambda = max(1e-300, 0.001*upper)
		}
		damped := s.damp(f)
		x = s.negated(damped.solve(s.padded(f)))
		length := s.scaledNorm(x)
		excess := length - s.radius
		if math.Abs(excess) <= 0.1*s.radius {
			break
		}
		if excess > 0 {
			lower = max(lower, s.lambda)
		} else {
			upper = min(upper, s.lambda)
		}
		next := s.lambda + excess/(s.radius*s.slope(damped, x))
		if !(next > lower && next < upper) {
			next = max(0.001*upper, math.Sqrt(lower*upper))
		}
		s.lambda = next
	}
	return x
}

// slope is -d(ln |D x|)/dλ = vᵀ(JᵀJ+λD²)⁻¹v / |D x|² with v = D²x.
func (s *search) slope(f *qr, x []float64) float64 {
	v := make([]float64, len(x))
	for j := range x {
		v[j] = s.d[j] * s.d[j] * x[j]
	}
	vec := mat.NewVecDense(len(v), v)
	length := s.scaledNorm(x)
	return mat.Inner(vec, f.covariance(), vec) / (length * length)
}

// steepest is |D⁻¹Jᵀr|, the longest multiplier that can be needed times the radius.
func (s *search) steepest() float64 {
	col, g := make([]float64, s.p.Observations), make([]float64, len(s.x))
	for j := range g {
		mat.Col(col, j, s.jac)
		g[j] = dot(col, s.r) / s.d[j]
	}
	return norm(g)
}

// damp factors the Jacobian with the rows sqrt(λ) D beneath it.
func (s *search) damp(f *qr) *qr {
	m, n := f.m, f.n
	a := make([]float64, (m+n)*n)
	copy(a, s.jac.RawMatrix().Data)
	for j := range n {
		a[(m+j)*n+j] = math.Sqrt(s.lambda) * s.d[j]
	}
	return factor(a, m+n, n)
}

func (s *search) padded(f *qr) []float64 {
	return append(append(make([]float64, 0, f.m+f.n), s.r...), make([]float64, f.n)...)
}

func (s *search) negated(x []float64) []float64 {
	for j := range x {
		x[j] = -x[j]
	}
	return x
}
