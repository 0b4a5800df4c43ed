package noise

import "math"

// State is the process at one place, of unit variance: its value, and its slope per 1/q of the
// coordinate (see Step), which has unit variance too; both are independent of each other. A rough
// process has no slope: that is 0.
type State [2]float64

// Step carries a process of unit variance on over d correlation lengths. Its covariance is
//
//	smooth: (1 + x) exp(-x),  x = sqrt(3) d
//	rough:  exp(-x),          x = d
//
// (Matern's of order 3/2 and 1/2: C. E. Rasmussen, C. K. I. Williams, Gaussian Processes for
// Machine Learning, 2006, eqs 4.17 and 4.18; the rough one is the first-order Gauss-Markov
// process). The state goes on as F s plus normal numbers of covariance Q = 1 - F F', which keeps it
// stationary (J. Hartikainen, S. Sarkka, Kalman filtering and smoothing solutions to temporal
// Gaussian process regression models, MLSP 2010), with
//
//	F = exp(-x) [1+x  x]
//	            [-x 1-x]
//
// of which a rough process has exp(-x) alone.
type Step struct {
	f00, f01, f10, f11 float64
	l00, l10, l11      float64 // lower Cholesky factor of Q
}

// Step is that of the hypothesis over d >= 0 correlation lengths.
func (h Hypothesis) Step(d float64) Step {
	if h.Rough {
		e := math.Exp(-d)
		return Step{f00: e, l00: math.Sqrt(-math.Expm1(-2 * d))}
	}
	x := math.Sqrt(3) * d
	e := math.Exp(-x)
	s := Step{f00: e * (1 + x), f01: e * x, f10: -e * x, f11: e * (1 - x)}
	q00 := 1 - s.f00*s.f00 - s.f01*s.f01
	q10 := -s.f00*s.f10 - s.f01*s.f11
	q11 := 1 - s.f10*s.f10 - s.f11*s.f11
	if y := 2 * x; y < 0.1 { // where digits would run out: the series of exp(-y) (exp(y) - 1 - y - y^2/2)
		q00 = e * e * y * y * y / 6 * (1 + y/4*(1+y/5*(1+y/6*(1+y/7*(1+y/8)))))
	}
	if q00 == 0 {
		return s
	}
	s.l00 = math.Sqrt(q00)
	s.l10 = q10 / s.l00
	s.l11 = math.Sqrt(math.Max(0, q11-s.l10*s.l10))
	return s
}

// On is F s.
func (s *Step) On(v State) State {
	return State{s.f00*v[0] + s.f01*v[1], s.f10*v[0] + s.f11*v[1]}
}

// Back is F' v: a linear function of the state after the step as one of that before it.
func (s *Step) Back(v State) State {
	return State{s.f00*v[0] + s.f10*v[1], s.f01*v[0] + s.f11*v[1]}
}

// Kicks are the columns of the lower Cholesky factor of Q: the step adds to F s the one and the
// other, each times a standard normal number.
func (s *Step) Kicks() (first, second State) { return State{s.l00, s.l10}, State{0, s.l11} }
