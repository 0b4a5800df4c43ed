package motion

import "math"

// knot is the state at one instant.
type knot struct {
	t float64
	x vec
}

// path is one possible motion, in SI: at rest at level h0 until t0, then through knots (the first
// at t0) with constant jerk from each to the next. Height and speed are continuous;
// acceleration and jerk may step at knots.
type path struct {
	t0, h0 float64
	end    float64 // end of thrust; +Inf when not in view
	// the vehicle moves in the first frame already: t0 is that frame's time, and the rest level is not known
	underWay bool
	jolted   bool      // it has a speed at once at t0
	phase    signature // errors that many frames share, in the units of the series
	even     evenClock // what its clock may be off by
	knots    []knot
}

// begin empties the path, to be filled with states in the units of s from t0 on.
func (p *path) begin(s *series, t0 float64) {
	p.t0, p.end, p.even, p.knots = s.seconds(t0), math.Inf(1), s.even, p.knots[:0]
}

// put adds a state in the units of s.
func (p *path) put(s *series, t float64, x vec) {
	T, H := s.unitT, s.unitH
	if len(p.knots) == 0 {
		p.h0 = s.level + x.h*H
	}
	v := H / T
	a := v / T
	p.knots = append(p.knots, knot{s.seconds(t), vec{s.level + x.h*H, x.v * v, x.a * a, x.j * a / T}})
}

// clone returns a copy that stays.
func (p *path) clone() *path {
	c := *p
	c.knots = append([]knot(nil), p.knots...)
	return &c
}

// last returns the instant of the last knot.
func (p *path) last() float64 { return p.knots[len(p.knots)-1].t }

// at returns the state at a knot's time plus what follows until t.
func (k *knot) at(t float64) vec { return k.x.coast(t - k.t) }

// before returns the index of the last knot at or before t, -1 for none.
func (p *path) before(t float64) int {
	lo, hi := 0, len(p.knots) // first knot after t
	for lo < hi {
		m := (lo + hi) / 2
		if p.knots[m].t <= t {
			lo = m + 1
		} else {
			hi = m
		}
	}
	return lo - 1
}

// at returns the state at time t; beyond the last knot jerk is held.
func (p *path) at(t float64) vec {
	i := p.before(t)
	if i < 0 {
		return vec{h: p.h0}
	}
	return p.knots[i].at(t)
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
