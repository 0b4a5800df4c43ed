package flight

import (
	"errors"
	"math"
)

// vector is the state that is integrated: height (m), speed (m/s) and up to two quantities of the
// phase (jet speed in m/s, gas volume in m3, temperature in K, or unused).
type vector [4]float64

// field is the right-hand side y' = f(t, y).
type field func(t float64, y vector) vector

// The Dormand-Prince pair of orders 5 and 4, seven stages of which the last is the first of
// the next step. J. R. Dormand, P. J. Prince, "A family of embedded Runge-Kutta formulae",
// J. Comput. Appl. Math. 6 (1980) 19-26, table 2.
var (
	dpC = [7]float64{0, 1. / 5, 3. / 10, 4. / 5, 8. / 9, 1, 1}
	dpA = [7][6]float64{
		{},
		{1. / 5},
		{3. / 40, 9. / 40},
		{44. / 45, -56. / 15, 32. / 9},
		{19372. / 6561, -25360. / 2187, 64448. / 6561, -212. / 729},
		{9017. / 3168, -355. / 33, 46732. / 5247, 49. / 176, -5103. / 18656},
		{35. / 384, 0, 500. / 1113, 125. / 192, -2187. / 6784, 11. / 84},
	}
	// dpE is the difference of the two formulas' weights: the estimate of the local error.
	dpE = [7]float64{71. / 57600, 0, -71. / 16695, 71. / 1920, -17253. / 339200, 22. / 525, -1. / 40}
	// dpD makes the continuous extension of order 4. E. Hairer, S. P. Norsett, G. Wanner,
	// Solving Ordinary Differential Equations I, 2nd ed. (1993), section II.6.
	dpD = [7]float64{
		-12715105075. / 11282082432, 0, 87487479700. / 32700410799, -10690763975. / 1880347072,
		701980252875. / 199316789632, -1453857185. / 822651844, 69997945. / 29380423,
	}
)

const (
	// tolerance is the local error allowed per step, relative to the larger of the state
	// and its scale. Global errors stay near 1e-9 (TestBottleQuadrature, TestCoastClosedForm).
	tolerance = 1e-10
	// maxSteps bounds one phase: a guard against a field that cannot be integrated.
	maxSteps = 200000
)

var errStiff = errors.New("integrate: step size fell to nothing")

// step is one accepted step with its continuous extension, a polynomial of degree 4 in
// theta = (t-T)/H.
type step struct {
	t, h float64
	r    [5]vector
}

// at evaluates the continuous extension; its error is of order h^5.
func (s *step) at(t float64) vector {
	th := (t - s.t) / s.h
	om := 1 - th
	var y vector
	for i := range y {
		y[i] = s.r[0][i] + th*(s.r[1][i]+om*(s.r[2][i]+th*(s.r[3][i]+om*s.r[4][i])))
	}
	return y
}

func (s *step) end() float64 { return s.t + s.h }

// problem is one smooth stretch of a flight: the field has no kinks between From and To.
type problem struct {
	field    field
	from, to float64
	start    vector
	scale    vector // magnitudes below which errors do not matter, > 0
	// events end the stretch where one of them falls from positive to zero or below.
	events []func(t float64, y vector) float64
}

// solution is what integrate found. event is the index of the event that ended it, or -1
// where the end of the stretch was reached.
type solution struct {
	steps []step
	t     float64
	y     vector
	event int
}

// integrate solves p with steps chosen so that the estimated local error stays below
// tolerance. An event is bracketed on the continuous extension, bisected to the last bit
// of t, and the step is taken anew to end there.
func integrate(p problem) (solution, error) {
	t, y := p.from, p.start
	sol := solution{t: t, y: y, event: -1}
	k1 := p.field(t, y)
	h := (p.to - p.from) * 1e-6
	for range maxSteps {
		if t >= p.to {
			return sol, nil
		}
		last := t+h >= p.to
		if last {
			h = p.to - t
		}
		if t+h == t {
			return sol, errStiff
		}
		s, y1, k7, e := p.advance(t, h, y, k1)
		if e > 1 || math.IsNaN(e) {
			h *= shrink(e)
			continue
		}
		if n, te := p.firstEvent(&s, y, y1); n >= 0 {
			return p.finish(sol, s, te, n)
		}
		sol.steps = append(sol.steps, s)
		t, y, k1 = s.end(), y1, k7
		if last {
			t = p.to
		}
		sol.t, sol.y = t, y
		h *= shrink(e)
	}
	return sol, errStiff
}

// finish ends a solution at the event n, which lies at te inside step s. A step too short
// to hold a polynomial is left out.
func (p *problem) finish(sol solution, s step, te float64, n int) (solution, error) {
	sol.event = n
	if te-s.t > 1e-14*math.Max(1, math.Abs(te)) {
		cut, y, _, _ := p.advance(s.t, te-s.t, s.r[0], p.field(s.t, s.r[0]))
		sol.steps = append(sol.steps, cut)
		sol.y = y
		te = cut.end()
	}
	sol.t = te
	return sol, nil
}

// shrink is the factor for the next step: 0.9 e^(-1/5), within [0.2, 5].
func shrink(e float64) float64 {
	if math.IsNaN(e) {
		return 0.2
	}
	if e == 0 {
		return 5
	}
	return math.Min(5, math.Max(0.2, 0.9*math.Pow(e, -0.2)))
}

// advance takes one step and returns it with the new state, the field there, and the
// largest component of the estimated error in units of what is allowed. The sums are written out: loops over the tables of
// coefficients take twice as long.
func (p *problem) advance(t, h float64, y, k1 vector) (s step, y1, k7 vector, e float64) {
	var w vector
	for i := range w {
		w[i] = y[i] + h*(dpA[1][0]*k1[i])
	}
	k2 := p.field(t+dpC[1]*h, w)
	for i := range w {
		w[i] = y[i] + h*(dpA[2][0]*k1[i]+dpA[2][1]*k2[i])
	}
	k3 := p.field(t+dpC[2]*h, w)
	for i := range w {
		w[i] = y[i] + h*(dpA[3][0]*k1[i]+dpA[3][1]*k2[i]+dpA[3][2]*k3[i])
	}
	k4 := p.field(t+dpC[3]*h, w)
	for i := range w {
		w[i] = y[i] + h*(dpA[4][0]*k1[i]+dpA[4][1]*k2[i]+dpA[4][2]*k3[i]+dpA[4][3]*k4[i])
	}
	k5 := p.field(t+dpC[4]*h, w)
	for i := range w {
		w[i] = y[i] + h*(dpA[5][0]*k1[i]+dpA[5][1]*k2[i]+dpA[5][2]*k3[i]+dpA[5][3]*k4[i]+dpA[5][4]*k5[i])
	}
	k6 := p.field(t+h, w)
	for i := range y1 { // the seventh stage sits at the new state
		y1[i] = y[i] + h*(dpA[6][0]*k1[i]+dpA[6][2]*k3[i]+dpA[6][3]*k4[i]+dpA[6][4]*k5[i]+dpA[6][5]*k6[i])
	}
	k7 = p.field(t+h, y1)
	s = step{t: t, h: h}
	for i := range y {
		err := dpE[0]*k1[i] + dpE[2]*k3[i] + dpE[3]*k4[i] + dpE[4]*k5[i] + dpE[5]*k6[i] + dpE[6]*k7[i]
		d := dpD[0]*k1[i] + dpD[2]*k3[i] + dpD[3]*k4[i] + dpD[4]*k5[i] + dpD[5]*k6[i] + dpD[6]*k7[i]
		if math.IsNaN(err) {
			return s, y1, k7, math.NaN()
		}
		size := max(p.scale[i], math.Abs(y[i]), math.Abs(y1[i]))
		e = max(e, math.Abs(h*err)/(tolerance*size))
		diff := y1[i] - y[i]
		bend := h*k1[i] - diff
		s.r[0][i], s.r[1][i], s.r[2][i] = y[i], diff, bend
		s.r[3][i], s.r[4][i] = diff-h*k7[i]-bend, h*d
	}
	return s, y1, k7, e
}

// startRate and endRate are the field at the ends of a step, as the continuous extension holds them.
func (s *step) startRate(i int) float64 { return (s.r[1][i] + s.r[2][i]) / s.h }
func (s *step) endRate(i int) float64   { return (s.r[1][i] - s.r[2][i] - s.r[3][i]) / s.h }

// firstEvent returns the earliest event inside step s and its time, or -1.
func (p *problem) firstEvent(s *step, y0, y1 vector) (n int, te float64) {
	n = -1
	for i, g := range p.events {
		if !(g(s.t, y0) > 0 && g(s.end(), y1) <= 0) {
			continue
		}
		t := bisect(s.t, s.end(), func(t float64) bool { return g(t, s.at(t)) <= 0 })
		if n < 0 || t < te {
			n, te = i, t
		}
	}
	return n, te
}

// bisect returns the first t in [lo, hi] at which past is true, to the last bit, where past
// is false at lo, true at hi and changes once.
func bisect(lo, hi float64, past func(float64) bool) float64 {
	for range 200 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		if past(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}
