package motion

import "math"

// vec3 is a state: height, speed, acceleration.
type vec3 struct{ h, v, a float64 }

// sym3 is a symmetric 3 by 3 matrix over (height, speed, acceleration).
type sym3 struct{ hh, hv, ha, vv, va, aa float64 }

func (m sym3) times(x vec3) vec3 {
	return vec3{
		m.hh*x.h + m.hv*x.v + m.ha*x.a,
		m.hv*x.h + m.vv*x.v + m.va*x.a,
		m.ha*x.h + m.va*x.v + m.aa*x.a,
	}
}

func (x vec3) dot(y vec3) float64 { return x.h*y.h + x.v*y.v + x.a*y.a }

func (m sym3) plus(o sym3) sym3 {
	return sym3{m.hh + o.hh, m.hv + o.hv, m.ha + o.ha, m.vv + o.vv, m.va + o.va, m.aa + o.aa}
}

// inverse returns the inverse and the determinant of a positive definite matrix.
// It first scales the diagonal to one, so that graded matrices lose no digits.
func (m sym3) inverse() (inv sym3, det float64) {
	sh, sv, sa := 1/math.Sqrt(m.hh), 1/math.Sqrt(m.vv), 1/math.Sqrt(m.aa)
	hv, ha, va := m.hv*sh*sv, m.ha*sh*sa, m.va*sv*sa
	c11, c12, c13 := 1-va*va, va*ha-hv, hv*va-ha
	d := c11 + hv*c12 + ha*c13
	g := 1 / d
	inv = sym3{
		hh: c11 * g * sh * sh, hv: c12 * g * sh * sv, ha: c13 * g * sh * sa,
		vv: (1 - ha*ha) * g * sv * sv, va: (hv*ha - va) * g * sv * sa,
		aa: (1 - hv*hv) * g * sa * sa,
	}
	return inv, d * m.hh * m.vv * m.aa
}

// sandwich returns m c m for symmetric m and c.
func (m sym3) sandwich(c sym3) sym3 {
	a := c.times(vec3{m.hh, m.hv, m.ha})
	b := c.times(vec3{m.hv, m.vv, m.va})
	d := c.times(vec3{m.ha, m.va, m.aa})
	return sym3{
		hh: m.hh*a.h + m.hv*a.v + m.ha*a.a,
		hv: m.hh*b.h + m.hv*b.v + m.ha*b.a,
		ha: m.hh*d.h + m.hv*d.v + m.ha*d.a,
		vv: m.hv*b.h + m.vv*b.v + m.va*b.a,
		va: m.hv*d.h + m.vv*d.v + m.va*d.a,
		aa: m.ha*d.h + m.va*d.v + m.aa*d.a,
	}
}

// coast moves a state on by d with constant acceleration and jerk j.
func (x vec3) coast(d, j float64) vec3 {
	return vec3{
		x.h + d*(x.v+d/2*(x.a+d/3*j)),
		x.v + d*(x.a+d/2*j),
		x.a + d*j,
	}
}

// walkPrecision returns the inverse of the covariance that white jerk of spectral
// density q (m2/s5) adds to (height, speed, acceleration) over a time d,
//
//	Q = q [ d^5/20  d^4/8  d^3/6 ]        det Q = q^3 d^9 / 8640
//	      [ d^4/8   d^3/3  d^2/2 ]
//	      [ d^3/6   d^2/2  d     ]
//
// (exact integral of F G G' F' over d, with F the constant-acceleration transition;
// Jazwinski, Stochastic Processes and Filtering Theory, 1970, section 4.8, from memory).
// iq is 1/q.
func walkPrecision(d, iq float64) sym3 {
	r := 1 / d
	g := iq * r
	g2 := g * r
	g3 := g2 * r
	g4 := g3 * r
	g5 := g4 * r
	return sym3{hh: 720 * g5, hv: -360 * g4, ha: 60 * g3, vv: 192 * g3, va: -36 * g2, aa: 9 * g}
}

// walkDet returns the determinant of Q above.
func walkDet(d, iq float64) float64 {
	d3 := d * d * d
	q := 1 / iq
	return q * q * q * d3 * d3 * d3 / 8640
}
