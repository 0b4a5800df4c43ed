package motion

import "math"

// knot is the state at one instant.
type knot struct {
	t float64
	x vec
}

// path is one possible motion: at rest at level h0 until t0, then through knots (the first
// at t0), with the most probable motion in between. SI once path.toSI has run.
type path struct {
	t0, h0 float64
	end    float64 // end of thrust; +Inf when not in view
	knots  []knot
}

// toSI scales a path from the units of s.
func (p *path) toSI(s *series) {
	T, H := s.unitT, s.unitH
	p.t0 = s.seconds(p.t0)
	p.h0 *= H
	p.end = s.seconds(p.end)
	for i := range p.knots {
		k := &p.knots[i]
		k.t = s.seconds(k.t)
		k.x = vec{k.x.h * H, k.x.v * H / T, k.x.a * H / (T * T), k.x.j * H / (T * T * T)}
	}
}

// between returns the state at time t between two knots: the polynomial of degree seven
// through both states, the mean of a motion of random snap tied down at both ends.
func between(a, b knot, t float64) vec {
	d := b.t - a.t
	if d <= 0 {
		return b.x
	}
	// The part that constant jerk leaves over is r^4 (c4 + c5 r + c6 r^2 + c7 r^3), r = s/d.
	f := b.x.minus(a.x.coast(d))
	e0, e1, e2, e3 := f.h, f.v*d, f.a*d*d, f.j*d*d*d
	c4 := 35*e0 - 15*e1 + 2.5*e2 - e3/6
	c5 := -84*e0 + 39*e1 - 7*e2 + 0.5*e3
	c6 := 70*e0 - 34*e1 + 6.5*e2 - 0.5*e3
	c7 := -20*e0 + 10*e1 - 2*e2 + e3/6
	s := t - a.t
	r := s / d
	x := a.x.coast(s)
	r2 := r * r
	return vec{
		x.h + r2*r2*(c4+r*(c5+r*(c6+r*c7))),
		x.v + r2*r*(4*c4+r*(5*c5+r*(6*c6+r*7*c7)))/d,
		x.a + r2*(12*c4+r*(20*c5+r*(30*c6+r*42*c7)))/(d*d),
		x.j + r*(24*c4+r*(60*c5+r*(120*c6+r*210*c7)))/(d*d*d),
	}
}

// at returns the state at time t; beyond the last knot jerk is held.
func (p *path) at(t float64) vec {
	if t <= p.t0 {
		return vec{h: p.h0}
	}
	n := len(p.knots)
	lo, hi := 0, n // first knot with time >= t
	for lo < hi {
		m := (lo + hi) / 2
		if p.knots[m].t < t {
			lo = m + 1
		} else {
			hi = m
		}
	}
	if lo == n {
		l := p.knots[n-1]
		return l.x.coast(t - l.t)
	}
	if lo == 0 {
		return p.knots[0].x
	}
	return between(p.knots[lo-1], p.knots[lo], t)
}

// refine bisects for the instant in [lo, hi] at which f turns from negative to non-negative.
func refine(lo, hi float64, f func(t float64) float64) float64 {
	flo, fhi := f(lo), f(hi)
	for range 60 {
		if hi-lo <= 1e-12*math.Max(math.Abs(lo), math.Abs(hi)) {
			break
		}
		// regula falsi guarded by bisection
		m := lo + (hi-lo)*flo/(flo-fhi)
		if !(m > lo+0.01*(hi-lo) && m < hi-0.01*(hi-lo)) {
			m = 0.5 * (lo + hi)
		}
		fm := f(m)
		if fm >= 0 {
			hi, fhi = m, fm
		} else {
			lo, flo = m, fm
		}
		if math.Abs(fm) < 1e-12 {
			return m
		}
	}
	return 0.5 * (lo + hi)
}
