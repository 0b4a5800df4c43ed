package motion

import "math"

// moments gathers sums of the three components of the state and their squares.
type moments struct {
	n        float64
	sum, sq  vec
	ref      vec
	anchored bool
}

func (m *moments) add(x vec) {
	if !m.anchored {
		m.ref, m.anchored = x, true
	}
	d := x.minus(m.ref)
	m.n++
	m.sum = m.sum.plus(d)
	m.sq = m.sq.plus(vec{d.h * d.h, d.v * d.v, d.a * d.a, 0})
}

// record adds a path to the history.
func (m *measurement) record(r *reading, h []moments) {
	k := r.p.knots
	j := 0
	for i, o := range m.in.Observations {
		if o.T <= r.p.t0 {
			h[i].add(vec{})
			continue
		}
		for j < len(k)-1 && k[j+1].t <= o.T {
			j++
		}
		h[i].add(r.warped(k[j].at(o.T)))
	}
}

// states returns mean and standard deviation of the state at each observation.
func (m *measurement) states() []State {
	out := make([]State, len(m.in.Observations))
	for i, o := range m.in.Observations {
		var all moments
		for c := range m.history {
			h := &m.history[c][i]
			if h.n == 0 {
				continue
			}
			if !all.anchored {
				all = *h
				continue
			}
			// move the sums to the common reference
			d := h.ref.minus(all.ref)
			shift := func(sq, sum, d float64) float64 { return sq + 2*d*sum + h.n*d*d }
			all.sq = vec{all.sq.h + shift(h.sq.h, h.sum.h, d.h), all.sq.v + shift(h.sq.v, h.sum.v, d.v), all.sq.a + shift(h.sq.a, h.sum.a, d.a), 0}
			all.sum = vec{all.sum.h + h.sum.h + h.n*d.h, all.sum.v + h.sum.v + h.n*d.v, all.sum.a + h.sum.a + h.n*d.a, 0}
			all.n += h.n
		}
		sd := func(sum, sq float64) float64 {
			mean := sum / all.n
			return math.Sqrt(math.Max(0, sq/all.n-mean*mean))
		}
		out[i] = State{
			T:      o.T,
			Height: all.ref.h + all.sum.h/all.n, Speed: all.ref.v + all.sum.v/all.n, Acceleration: all.ref.a + all.sum.a/all.n,
			UHeight: sd(all.sum.h, all.sq.h), USpeed: sd(all.sum.v, all.sq.v), UAcceleration: sd(all.sum.a, all.sq.a),
		}
	}
	return out
}
