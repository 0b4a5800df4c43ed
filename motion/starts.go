package motion

import (
	"cmp"
	"math"
	"slices"
)

// stepSizes returns the size of a step in each coordinate.
func (p *problem) stepSizes() []float64 {
	s := p.s
	steps := []float64{0.3, 1.5, 1.5}
	if p.shape.buildUp() {
		steps = append(steps, math.Max(0.3*s.step, 0.004/s.unitT))
	}
	if p.jolt {
		steps = append(steps, 1)
	}
	if p.shape.end != lasts {
		steps = append(steps, math.Max(0.5*s.step, s.span/60), 1)
	}
	if p.shape.end == changesTwice {
		steps = append(steps, math.Max(0.5*s.step, s.span/60))
	}
	return steps
}

// widest returns a standard deviation that no coordinate can exceed by much: the prior's.
func (p *problem) widest() []float64 {
	instant := p.s.span / math.Sqrt(12)
	w := []float64{noiseSpread, p.s.unevenSpread(), wanderSpread}
	if p.shape.buildUp() {
		w = append(w, instant)
	}
	if p.jolt {
		w = append(w, math.Log(joltMost/joltLeast)/math.Sqrt(12))
	}
	if p.shape.end != lasts {
		w = append(w, instant, coastSpread)
	}
	if p.shape.end == changesTwice {
		w = append(w, instant)
	}
	return w
}

// beginStarts returns points to climb from where thrust lasts.
func (p *problem) beginStarts(from guess) [][]float64 {
	s := p.s
	u := from.bump.u
	if p.jolt {
		return p.joltStarts(u)
	}
	if !p.shape.buildUp() {
		return [][]float64{u}
	}
	last := s.t[len(s.t)-1]
	first, _ := from.p.onsetMoments(u)
	var out [][]float64
	for _, ms := range [...]float64{4e-3, 15e-3, 50e-3} {
		if d := ms / s.unitT; d < s.span && (len(out) == 0 || d > 0.3*s.step) {
			out = append(out, append(append([]float64(nil), u...), math.Min(first+d, last-0.1*s.step)))
		}
	}
	if len(out) == 0 {
		out = append(out, append(append([]float64(nil), u...), first+0.5*(last-first)))
	}
	return out
}

// landStarts is how many instants about an impact are tried.
const landStarts = 8

// endStarts scans the instant of the end of thrust and returns its best local maxima.
func (p *problem) endStarts(u []float64, first float64, n int) [][]float64 {
	s := p.s
	last := s.t[len(s.t)-1]
	type try struct {
		u []float64
		l float64
	}
	from, to := first, last
	if p.shape.end == lands {
		i, _ := s.impact()
		n, from, to = landStarts, s.t[max(i-2, 0)], s.t[min(i+2, len(s.t)-1)]
	}
	tries := make([]try, n)
	for i := range tries {
		t := from + (to-from)*(float64(i)+0.5)/float64(n)
		v := append([]float64(nil), u...)
		if e := p.endAt(); p.shape.end == changesTwice {
			v = append(v, math.Max(t, v[e]))
			v[e] = math.Min(t, v[e])
		} else {
			v = append(v, t, p.shape.calm())
		}
		tries[i] = try{v, p.logDensity(v)}
	}
	var best []try
	for i, x := range tries {
		if (i == 0 || x.l >= tries[i-1].l) && (i == n-1 || x.l >= tries[i+1].l) && !math.IsInf(x.l, -1) {
			best = append(best, x)
		}
	}
	slices.SortStableFunc(best, func(a, b try) int { return cmp.Compare(b.l, a.l) })
	var out [][]float64
	for _, b := range best[:min(len(best), 2)] {
		out = append(out, b.u)
	}
	return out
}
