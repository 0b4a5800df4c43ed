package motion

import "math"

// ahead is the log-likelihood of all observations from some instant on, as a function of
// the state x at that instant, but for a part that depends on the noise level alone:
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
	dets float64 // product of which c still lacks -1/2 of the logarithm

	phase mixed // the same about the errors that frames share
}

// gather divides the likelihood by the root of f, taking logarithms only now and then.
func (s *ahead) gather(f float64) {
	s.dets *= f
	if !(s.dets < 1e200 && s.dets > 1e-200) {
		s.settle()
	}
}

func (s *ahead) settle() {
	s.c -= 0.5 * math.Log(s.dets)
	s.dets = 1
}

// shift takes the function back over a time d of constant jerk.
func (s *ahead) shift(d float64) {
	s.L.backShift(d)
	s.e = s.e.backShift(d)
	if s.phase.on {
		s.phase.backShift(d)
	}
}

// grow takes the function back over an instant at which the jerk grows by the factor g.
func (s *ahead) grow(g float64) {
	L := &s.L
	L.hj, L.vj, L.aj, L.jj, s.e.j = g*L.hj, g*L.vj, g*L.aj, g*g*L.jj, g*s.e.j
	for i := range s.phase.n {
		s.phase.x[i].j *= g
	}
}

// gain is what a forward draw of one component of the state needs: with z the state before and q the
// errors that frames share, the component is changed by a normal number of mean
// mean - L z - phase q and variance C.
type gain struct {
	C     float64
	mean  float64
	L     vec
	phase signature
}

// kickJerk takes the function back over a step of the jerk of variance v. It fills g in unless that is nil.
func (s *ahead) kickJerk(v float64, g *gain) {
	L := &s.L
	f := 1 + v*L.jj
	s.reduce(v/f, s.e.j, vec{L.hj, L.vj, L.aj, L.jj}, s.phase.jerks(), g)
	s.gather(f)
}

// kickAccel takes the function back over a step of the acceleration of variance v, and fills g in likewise.
func (s *ahead) kickAccel(v float64, g *gain) {
	L := &s.L
	f := 1 + v*L.aa
	s.reduce(v/f, s.e.a, vec{L.ha, L.va, L.aa, L.aj}, s.phase.accels(), g)
	s.gather(f)
}

// reduce is a step of one component of the state, of variance C given what follows: l is the row of L of the component, e its entry of
// e, r its entries of the amplitudes' x.
func (s *ahead) reduce(C, e float64, l vec, r signature, g *gain) {
	L, k, m := &s.L, vec{C * l.h, C * l.v, C * l.a, C * l.j}, C*e
	s.c += 0.5 * m * e
	s.e.h -= m * l.h
	s.e.v -= m * l.v
	s.e.a -= m * l.a
	s.e.j -= m * l.j
	L.hh -= k.h * l.h
	L.hv -= k.h * l.v
	L.ha -= k.h * l.a
	L.hj -= k.h * l.j
	L.vv -= k.v * l.v
	L.va -= k.v * l.a
	L.vj -= k.v * l.j
	L.aa -= k.a * l.a
	L.aj -= k.a * l.j
	L.jj -= k.j * l.j
	if s.phase.on {
		s.phase.reduce(C, m, k, r)
	}
	if g != nil {
		*g = gain{C, m, k, signature{}.plus(r, C)}
	}
}

// renew takes the function back over an instant at which the jerk is drawn afresh from
// N(0, scale^2), whatever it was before.
func (s *ahead) renew(scale float64, g *gain) {
	s.kickJerk(scale*scale, g)
	if g != nil {
		g.L.j = 0
	}
	L := &s.L
	L.hj, L.vj, L.aj, L.jj, s.e.j = 0, 0, 0, 0, 0
	for i := range s.phase.x {
		s.phase.x[i].j = 0
	}
}

// brake takes the function back over an instant at which the acceleration is drawn afresh
// from N(mean, scale^2), whatever it was before.
func (s *ahead) brake(mean, scale float64, g *gain) {
	L := &s.L
	// move the origin of the acceleration to mean, so that a step from zero does it
	s.c += mean * (s.e.a - 0.5*mean*L.aa)
	s.e = vec{s.e.h - mean*L.ha, s.e.v - mean*L.va, s.e.a - mean*L.aa, s.e.j - mean*L.aj}
	for i := range s.phase.n {
		s.phase.e[i] -= mean * s.phase.x[i].a
	}
	s.kickAccel(scale*scale, g)
	if g != nil {
		g.mean += mean
		g.L.a = 0
	}
	L.ha, L.va, L.aa, L.aj, s.e.a = 0, 0, 0, 0, 0
	for i := range s.phase.x {
		s.phase.x[i].a = 0
	}
}
