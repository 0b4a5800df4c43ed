package motion

import "math"

// ahead is the log-likelihood of all observations from some instant on, as a function of
// the state x at that instant and of the launch coefficient b (the slope of a build-up):
//
//	l(x, b) = c - x'Lx/2 + (e - b k)'x - m b^2/2 + n b
//
// It is the information form of the filter run backwards in time (Fraser & Potter, IEEE
// Trans. Automat. Contr. 14:387, 1969, from memory). Running backwards, nothing in it
// depends on first motion, so first motion can be integrated over at almost no cost.
type ahead struct {
	L       sym3
	e, k    vec3
	c, m, n float64
	logs    float64 // product of determinants whose logarithm is still to be taken into c
}

// observe adds an observation y of the height with precision w = 1/variance.
func (s *ahead) observe(y, w float64) {
	s.L.hh += w
	s.e.h += w * y
	s.c -= 0.5 * w * y * y
	s.logs *= w
	if s.logs > 1e200 || s.logs < 1e-200 {
		s.settle()
	}
}

func (s *ahead) settle() {
	s.c += 0.5 * math.Log(s.logs)
	s.logs = 1
}

// gain is what a forward draw over one step needs; see ahead.back.
type gain struct {
	C    sym3 // covariance of the step's random part, given all that comes later
	L    sym3
	e, k vec3
}

// back takes the function from the end of a step to its beginning: the step lasts d, has
// white jerk of density 1/iq (iq +Inf: none) and, when slope is set, a known jerk b.
// With z = F x + b g the state after the step but for the random part w ~ N(0, Q),
// w is integrated out: C = (L + Q^-1)^-1 is its covariance given what comes later.
func (s *ahead) back(d, iq float64, slope bool) gain {
	var g gain
	if !math.IsInf(iq, 1) {
		q := walkPrecision(d, iq)
		C, det := s.L.plus(q).inverse()
		g = gain{C: C, L: s.L, e: s.e, k: s.k}
		s.absorb(C)
		s.logs /= det * walkDet(d, iq)
		if !(s.logs < 1e200 && s.logs > 1e-200) {
			s.settle()
		}
	}
	if slope {
		x := vec3{d * d * d / 6, d * d / 2, d}
		Lx := s.L.times(x)
		s.n += s.e.dot(x)
		s.m += 2*s.k.dot(x) + x.dot(Lx)
		s.k = vec3{s.k.h + Lx.h, s.k.v + Lx.v, s.k.a + Lx.a}
	}
	s.L = s.L.backShift(d)
	s.e = s.e.backShift(d)
	s.k = s.k.backShift(d)
	return g
}

// absorb integrates out a random part whose covariance given what comes later is C,
// leaving the determinant to the caller.
func (s *ahead) absorb(C sym3) {
	Ce := C.times(s.e)
	s.c += 0.5 * s.e.dot(Ce)
	if s.k != (vec3{}) {
		Ck := C.times(s.k)
		s.n -= s.e.dot(Ck)
		s.m -= s.k.dot(Ck)
		x := s.L.times(Ck)
		s.k = vec3{s.k.h - x.h, s.k.v - x.v, s.k.a - x.a}
	}
	x := s.L.times(Ce)
	s.e = vec3{s.e.h - x.h, s.e.v - x.v, s.e.a - x.a}
	y := s.L.sandwich(C)
	s.L = sym3{s.L.hh - y.hh, s.L.hv - y.hv, s.L.ha - y.ha, s.L.vv - y.vv, s.L.va - y.va, s.L.aa - y.aa}
}

// backShift returns F'LF for the constant-acceleration transition F over d.
func (m sym3) backShift(d float64) sym3 {
	q := d * d / 2
	// columns of L F, rows h, v, a
	hv, ha := m.hh*d+m.hv, m.hh*q+m.hv*d+m.ha
	vv, va := m.hv*d+m.vv, m.hv*q+m.vv*d+m.va
	aa := m.ha*q + m.va*d + m.aa
	return sym3{
		hh: m.hh, hv: hv, ha: ha,
		vv: d*hv + vv, va: d*ha + va,
		aa: q*ha + d*va + aa,
	}
}

// backShift returns F'x.
func (x vec3) backShift(d float64) vec3 {
	return vec3{x.h, d*x.h + x.v, d*d/2*x.h + d*x.v + x.a}
}

// jumpGain is what a forward draw of a jump needs.
type jumpGain struct {
	C, e, k float64
	L       vec3
}

// jump takes the function back over an instant at which the acceleration jumps by an
// unknown amount of standard deviation scale.
func (s *ahead) jump(scale float64) jumpGain {
	w := 1 / (scale * scale)
	C := 1 / (s.L.aa + w)
	g := jumpGain{C: C, e: s.e.a, k: s.k.a, L: vec3{s.L.ha, s.L.va, s.L.aa}}
	s.absorb(sym3{aa: C})
	s.logs *= w * C
	return g
}
