package motion

import "math"

// vec is a state, or what is dual to one: height, speed, acceleration, jerk.
type vec struct{ h, v, a, j float64 }

func (x vec) dot(y vec) float64 { return x.h*y.h + x.v*y.v + x.a*y.a + x.j*y.j }

func (x vec) plus(y vec) vec { return vec{x.h + y.h, x.v + y.v, x.a + y.a, x.j + y.j} }

func (x vec) minus(y vec) vec { return vec{x.h - y.h, x.v - y.v, x.a - y.a, x.j - y.j} }

// coast moves a state on by d with constant jerk: F x.
func (x vec) coast(d float64) vec {
	return vec{
		x.h + d*(x.v+d/2*(x.a+d/3*x.j)),
		x.v + d*(x.a+d/2*x.j),
		x.a + d*x.j,
		x.j,
	}
}

// sym is a symmetric 4 by 4 matrix over (height, speed, acceleration, jerk).
type sym struct{ hh, hv, ha, hj, vv, va, vj, aa, aj, jj float64 }

func (m *sym) plus(o *sym) sym {
	return sym{m.hh + o.hh, m.hv + o.hv, m.ha + o.ha, m.hj + o.hj,
		m.vv + o.vv, m.va + o.va, m.vj + o.vj, m.aa + o.aa, m.aj + o.aj, m.jj + o.jj}
}

// backShift returns F'mF for the constant-jerk transition F over d.
func (m *sym) backShift(d float64) sym {
	// m F, column by column, then F' from the left; column h is unchanged.
	q, c := d*d/2, d*d*d/6
	hv, ha, hj := m.hh*d+m.hv, m.hh*q+m.hv*d+m.ha, m.hh*c+m.hv*q+m.ha*d+m.hj
	vv, va, vj := m.hv*d+m.vv, m.hv*q+m.vv*d+m.va, m.hv*c+m.vv*q+m.va*d+m.vj
	aa, aj := m.ha*q+m.va*d+m.aa, m.ha*c+m.va*q+m.aa*d+m.aj
	jj := m.hj*c + m.vj*q + m.aj*d + m.jj
	return sym{
		hh: m.hh, hv: hv, ha: ha, hj: hj,
		vv: d*hv + vv, va: d*ha + va, vj: d*hj + vj,
		aa: q*ha + d*va + aa, aj: q*hj + d*vj + aj,
		jj: c*hj + q*vj + d*aj + jj,
	}
}

// backShift returns F'x.
func (x vec) backShift(d float64) vec {
	return vec{x.h, d*x.h + x.v, d*(d/2*x.h+x.v) + x.a, d*(d/2*(d/3*x.h+x.v)+x.a) + x.j}
}

// factor is a lower Cholesky factor R of a positive definite matrix R R', its diagonal
// held as reciprocals. Cholesky's accuracy does not depend on the scale of the rows
// (van der Sluis, Numer. Math. 14:14, 1969, from memory), which differ widely here.
type factor struct{ ih, vh, iv, ah, av, ia, jh, jv, ja, ij float64 }

func (m *sym) factor() factor {
	var r factor
	r.ih = 1 / math.Sqrt(m.hh)
	r.vh, r.ah, r.jh = m.hv*r.ih, m.ha*r.ih, m.hj*r.ih
	r.iv = 1 / math.Sqrt(m.vv-r.vh*r.vh)
	r.av, r.jv = (m.va-r.vh*r.ah)*r.iv, (m.vj-r.vh*r.jh)*r.iv
	r.ia = 1 / math.Sqrt(m.aa-r.ah*r.ah-r.av*r.av)
	r.ja = (m.aj - r.ah*r.jh - r.av*r.jv) * r.ia
	r.ij = 1 / math.Sqrt(m.jj-r.jh*r.jh-r.jv*r.jv-r.ja*r.ja)
	return r
}

// rootDet returns 1/sqrt(det(R R')).
func (r *factor) rootDet() float64 { return r.ih * r.iv * r.ia * r.ij }

// down returns R^-1 x.
func (r *factor) down(x vec) vec {
	h := x.h * r.ih
	v := (x.v - r.vh*h) * r.iv
	a := (x.a - r.ah*h - r.av*v) * r.ia
	return vec{h, v, a, (x.j - r.jh*h - r.jv*v - r.ja*a) * r.ij}
}

// up returns R'^-1 x.
func (r *factor) up(x vec) vec {
	j := x.j * r.ij
	a := (x.a - r.ja*j) * r.ia
	v := (x.v - r.av*a - r.jv*j) * r.iv
	return vec{(x.h - r.vh*v - r.ah*a - r.jh*j) * r.ih, v, a, j}
}

// inverse returns (R R')^-1.
func (r *factor) inverse() sym {
	h := r.up(r.down(vec{h: 1}))
	v := r.up(r.down(vec{v: 1}))
	a := r.up(r.down(vec{a: 1}))
	j := r.up(r.down(vec{j: 1}))
	return sym{h.h, h.v, h.a, h.j, v.v, v.a, v.j, a.a, a.j, j.j}
}

// strength is how strongly the motion wanders: spectral densities of white jerk (m2/s5),
// which lets the acceleration walk, and of white snap (m2/s7), which lets the jerk walk.
type strength struct{ jerk, snap float64 }

// covariance returns what the wandering adds to the covariance of the state over a time d:
// with F the constant-jerk transition and G the unit vector of the driven component, the
// integral of F G G' F' over d (Jazwinski, Stochastic Processes and Filtering Theory,
// 1970, section 4.8, from memory), for both sources added.
func (s strength) covariance(d float64) sym {
	d2 := d * d
	p, q := s.jerk*d, s.snap*d2*d
	return sym{
		hh: (p/20 + q/252) * d2 * d2, hv: (p/8 + q/72) * d2 * d, ha: (p/6 + q/30) * d2, hj: q / 24 * d,
		vv: (p/3 + q/20) * d2, va: (p/2 + q/8) * d, vj: q / 6,
		aa: p + q/3, aj: q / 2 / d,
		jj: q / d2,
	}
}

// still says whether nothing wanders.
func (s strength) still() bool { return s.jerk == 0 && s.snap == 0 }

// wandering is the inverse of a covariance of the above, and 1/sqrt of its determinant.
type wandering struct {
	of      strength
	d       float64
	inverse sym
	root    float64
}

func (s strength) over(d float64) wandering {
	q := s.covariance(d)
	r := q.factor()
	return wandering{s, d, r.inverse(), r.rootDet()}
}
