package motion

import "math"

// knot is the state at one instant.
type knot struct {
	t float64
	x vec3
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
	p.t0 *= T
	p.h0 *= H
	p.end *= T
	for i := range p.knots {
		k := &p.knots[i]
		k.t *= T
		k.x = vec3{k.x.h * H, k.x.v * H / T, k.x.a * H / (T * T)}
	}
}

// between returns the state at time t between two knots: the quintic polynomial through both
// states, which is the mean of a random walk of acceleration tied down at both ends.
func between(a, b knot, t float64) vec3 {
	d := b.t - a.t
	if d <= 0 {
		return b.x
	}
	s := t - a.t
	// the part that constant acceleration leaves over, as c3 s^3 + c4 s^4 + c5 s^5
	f := a.x.coast(d, 0)
	e := vec3{b.x.h - f.h, b.x.v - f.v, b.x.a - f.a}
	r := 1 / d
	c3 := (10*e.h*r - 4*e.v + 0.5*e.a*d) * r * r
	c4 := (-15*e.h*r + 7*e.v - e.a*d) * r * r * r
	c5 := (6*e.h*r - 3*e.v + 0.5*e.a*d) * r * r * r * r
	x := a.x.coast(s, 0)
	return vec3{
		x.h + s*s*s*(c3+s*(c4+s*c5)),
		x.v + s*s*(3*c3+s*(4*c4+5*s*c5)),
		x.a + s*(6*c3+s*(12*c4+20*s*c5)),
	}
}

// at returns the state at time t; beyond the last knot acceleration is held.
func (p *path) at(t float64) vec3 {
	if t <= p.t0 {
		return vec3{h: p.h0}
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
		return l.x.coast(t-l.t, 0)
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
