package motion

// vec is a state, or what is dual to one: height, speed, acceleration, jerk.
type vec struct{ h, v, a, j float64 }

func (x vec) dot(y vec) float64 { return x.h*y.h + x.v*y.v + x.a*y.a + x.j*y.j }

func (x vec) plus(y vec) vec { return vec{x.h + y.h, x.v + y.v, x.a + y.a, x.j + y.j} }

func (x vec) times(f float64) vec { return vec{f * x.h, f * x.v, f * x.a, f * x.j} }

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

// backShift returns F'x for the constant-jerk transition F over d.
func (x vec) backShift(d float64) vec {
	q := d * d / 2
	return vec{x.h, d*x.h + x.v, q*x.h + d*x.v + x.a, q*(d/3*x.h+x.v) + d*x.a + x.j}
}

// sym is a symmetric 4 by 4 matrix over (height, speed, acceleration, jerk).
type sym struct{ hh, hv, ha, hj, vv, va, vj, aa, aj, jj float64 }

// backShift replaces m by F'mF for the constant-jerk transition F over d.
func (m *sym) backShift(d float64) {
	// m F, column by column, then F' from the left; column h is unchanged.
	q := d * d / 2
	c := q * d / 3
	hv, ha, hj := m.hh*d+m.hv, m.hh*q+m.hv*d+m.ha, m.hh*c+m.hv*q+m.ha*d+m.hj
	vv, va, vj := m.hv*d+m.vv, m.hv*q+m.vv*d+m.va, m.hv*c+m.vv*q+m.va*d+m.vj
	aa, aj := m.ha*q+m.va*d+m.aa, m.ha*c+m.va*q+m.aa*d+m.aj
	jj := m.hj*c + m.vj*q + m.aj*d + m.jj
	m.hv, m.ha, m.hj = hv, ha, hj
	m.vv, m.va, m.vj = d*hv+vv, d*ha+va, d*hj+vj
	m.aa, m.aj = q*ha+d*va+aa, q*hj+d*vj+aj
	m.jj = c*hj + q*vj + d*aj + jj
}

// addScaled adds f times o.
func (m *sym) addScaled(f float64, o *sym) {
	m.hh += f * o.hh
	m.hv += f * o.hv
	m.ha += f * o.ha
	m.hj += f * o.hj
	m.vv += f * o.vv
	m.va += f * o.va
	m.vj += f * o.vj
	m.aa += f * o.aa
	m.aj += f * o.aj
	m.jj += f * o.jj
}

// strength is how strongly the motion wanders: variance per second of the steps of the
// acceleration (m2/s5), and of the steps of the jerk (m2/s7).
type strength struct{ jerk, snap float64 }

// times returns m x.
func (m *sym) times(x vec) vec {
	return vec{
		m.hh*x.h + m.hv*x.v + m.ha*x.a + m.hj*x.j,
		m.hv*x.h + m.vv*x.v + m.va*x.a + m.vj*x.j,
		m.ha*x.h + m.va*x.v + m.aa*x.a + m.aj*x.j,
		m.hj*x.h + m.vj*x.v + m.aj*x.a + m.jj*x.j,
	}
}
