package motion

import "math"

// ahead is the log-likelihood of all observations from some instant on, as a function of
// the state x at that instant:
//
//	l(x) = c - x'Lx/2 + e'x
//
// It is the information form of the filter run backwards in time (Fraser & Potter, IEEE
// Trans. Automat. Contr. 14:387, 1969, from memory). Running backwards, nothing in it
// depends on first motion, so first motion can be integrated over at almost no cost.
// It needs no prior for the last frame, and takes any number of unobserved components.
type ahead struct {
	L    sym
	e    vec
	c    float64
	logs float64 // product whose logarithm is still to be taken into c
}

// observe adds an observation y of the height with precision w = 1/variance, but for the
// constant -ln(2 pi)/2.
func (s *ahead) observe(y, w float64) {
	s.L.hh += w
	s.e.h += w * y
	s.c -= 0.5 * w * y * y
	s.gather(math.Sqrt(w))
}

// gather multiplies the likelihood by f, taking logarithms only now and then.
func (s *ahead) gather(f float64) {
	s.logs *= f
	if !(s.logs < 1e100 && s.logs > 1e-100) {
		s.settle()
	}
}

func (s *ahead) settle() {
	s.c += math.Log(s.logs)
	s.logs = 1
}

// gain is what a forward draw over a step needs: the factor of the precision of the step's
// random part given all that comes later, and what comes later.
type gain struct {
	R factor
	L sym
	e vec
}

// wander takes the function back over a random part w ~ N(0, Q) added to the state at one
// instant: w is integrated out. P = L + Q^-1 is its precision given what comes later.
func (s *ahead) wander(q *wandering) gain {
	P := s.L.plus(&q.inverse)
	g := gain{P.factor(), s.L, s.e}
	R := &g.R
	y := R.down(s.e)
	s.c += 0.5 * y.dot(y)
	// columns of M = R^-1 L; then L - M'M and e - M'y
	L := &s.L
	h, v := R.down(vec{L.hh, L.hv, L.ha, L.hj}), R.down(vec{L.hv, L.vv, L.va, L.vj})
	a, j := R.down(vec{L.ha, L.va, L.aa, L.aj}), R.down(vec{L.hj, L.vj, L.aj, L.jj})
	s.e = s.e.minus(vec{h.dot(y), v.dot(y), a.dot(y), j.dot(y)})
	s.L = sym{
		L.hh - h.dot(h), L.hv - h.dot(v), L.ha - h.dot(a), L.hj - h.dot(j),
		L.vv - v.dot(v), L.va - v.dot(a), L.vj - v.dot(j),
		L.aa - a.dot(a), L.aj - a.dot(j), L.jj - j.dot(j),
	}
	s.gather(R.rootDet() * q.root)
	return g
}

// shift takes the function back over a time d of constant jerk.
func (s *ahead) shift(d float64) {
	s.L = s.L.backShift(d)
	s.e = s.e.backShift(d)
}

// scalarGain is what a forward draw of one component of the state needs.
type scalarGain struct {
	sd   float64
	mean float64
	L    vec
}

// renew takes the function back over an instant at which the jerk is drawn afresh from
// N(0, scale^2), whatever it was before.
func (s *ahead) renew(scale float64) scalarGain {
	w := 1 / (scale * scale)
	C := 1 / (s.L.jj + w)
	g := scalarGain{sd: math.Sqrt(C), mean: C * s.e.j, L: vec{C * s.L.hj, C * s.L.vj, C * s.L.aj, 0}}
	s.c += 0.5 * C * s.e.j * s.e.j
	l := vec{s.L.hj, s.L.vj, s.L.aj, 0}
	f := C * s.e.j
	s.e = vec{s.e.h - f*l.h, s.e.v - f*l.v, s.e.a - f*l.a, 0}
	s.L = sym{
		hh: s.L.hh - C*l.h*l.h, hv: s.L.hv - C*l.h*l.v, ha: s.L.ha - C*l.h*l.a,
		vv: s.L.vv - C*l.v*l.v, va: s.L.va - C*l.v*l.a, aa: s.L.aa - C*l.a*l.a,
	}
	s.gather(math.Sqrt(w * C))
	return g
}

// jump takes the function back over an instant at which the acceleration changes by an
// unknown amount of standard deviation scale.
func (s *ahead) jump(scale float64) scalarGain {
	w := 1 / (scale * scale)
	C := 1 / (s.L.aa + w)
	l := vec{s.L.ha, s.L.va, s.L.aa, s.L.aj}
	g := scalarGain{sd: math.Sqrt(C), mean: C * s.e.a, L: vec{C * l.h, C * l.v, C * l.a, C * l.j}}
	s.c += 0.5 * C * s.e.a * s.e.a
	f := C * s.e.a
	s.e = vec{s.e.h - f*l.h, s.e.v - f*l.v, s.e.a - f*l.a, s.e.j - f*l.j}
	L := &s.L
	s.L = sym{
		L.hh - C*l.h*l.h, L.hv - C*l.h*l.v, L.ha - C*l.h*l.a, L.hj - C*l.h*l.j,
		L.vv - C*l.v*l.v, L.va - C*l.v*l.a, L.vj - C*l.v*l.j,
		L.aa - C*l.a*l.a, L.aj - C*l.a*l.j, L.jj - C*l.j*l.j,
	}
	s.gather(math.Sqrt(w * C))
	return g
}

// brake takes the function back over an instant at which the acceleration is drawn afresh
// from N(mean, scale^2), whatever it was before.
func (s *ahead) brake(mean, scale float64) scalarGain {
	w := 1 / (scale * scale)
	C := 1 / (s.L.aa + w)
	e := s.e.a + w*mean
	l := vec{s.L.ha, s.L.va, 0, s.L.aj}
	g := scalarGain{sd: math.Sqrt(C), mean: C * e, L: vec{C * l.h, C * l.v, 0, C * l.j}}
	s.c += 0.5*C*e*e - 0.5*w*mean*mean
	f := C * e
	s.e = vec{s.e.h - f*l.h, s.e.v - f*l.v, 0, s.e.j - f*l.j}
	L := &s.L
	s.L = sym{
		hh: L.hh - C*l.h*l.h, hv: L.hv - C*l.h*l.v, hj: L.hj - C*l.h*l.j,
		vv: L.vv - C*l.v*l.v, vj: L.vj - C*l.v*l.j, jj: L.jj - C*l.j*l.j,
	}
	s.gather(math.Sqrt(w * C))
	return g
}
