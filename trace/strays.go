package trace

import (
	"math"
)

// leaveOutStrays marks matches that lie off the path: beside the flight line, backwards, or
// far from where the frames around them say. A false match is worse than none.
func (r *refiner) leaveOutStrays() {
	n := len(r.matches)
	r.stray = make([]bool, n)
	for range 3 {
		again := false
		for i := range n {
			if r.stray[i] || !r.matches[i].OK {
				continue
			}
			if e, ok := r.offPath(i); ok && e {
				r.stray[i], again = true, true
			}
		}
		if !again {
			return
		}
	}
}

// offPath compares sighting i with the line through its neighbours in time.
func (r *refiner) offPath(i int) (off, known bool) {
	near := func(from, step int) []int {
		var out []int
		for k := from; k >= 0 && k < len(r.matches) && len(out) < 2; k += step {
			if r.matches[k].OK && !r.stray[k] {
				out = append(out, k)
			}
		}
		return out
	}
	before, after := near(i-1, -1), near(i+1, 1)
	s, t := r.along(i), r.sights[i].t
	limit := func(way float64) float64 { return 3 + 0.6*math.Abs(way) }
	switch {
	case len(before) > 0 && len(after) > 0:
		a, b := before[0], after[0]
		f := (t - r.sights[a].t) / (r.sights[b].t - r.sights[a].t)
		mid := r.along(a) + f*(r.along(b)-r.along(a))
		side := r.across(a) + f*(r.across(b)-r.across(a))
		way := r.along(b) - r.along(a)
		return math.Abs(s-mid) > limit(way) || math.Abs(r.across(i)-side) > 3+0.1*math.Abs(way), true
	case len(before) == 2:
		a, b := before[1], before[0]
		v := (r.along(b) - r.along(a)) / (r.sights[b].t - r.sights[a].t)
		gap := r.sights[i].frame - r.sights[b].frame
		ahead := r.along(b) + v*(t-r.sights[b].t)
		way := v * (t - r.sights[b].t)
		if math.Abs(r.across(i)-r.across(b)) > 3+0.15*math.Abs(way) {
			return true, true
		}
		if gap <= 1 {
			return math.Abs(way) > 3 && (s-r.along(b))*way < 0 && math.Abs(s-r.along(b)) > 3, true
		}
		return s < r.along(b)-3 && v > 0 || math.Abs(s-ahead) > 5+0.8*math.Abs(way), true
	}
	return false, false
}
