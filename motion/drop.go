package motion

import (
	"fmt"
	"math"

	"padside/fault"
	"padside/metrology"
)

// Priors of what air does to a falling ball (all derived from ball data; the balls people
// drop are 0.04 to 0.07 m across).
const (
	// Drag takes k v^2 off the acceleration. k = g/vt^2 is 0.006 to 0.04 1/m for balls of 4 cm and 10
	// to 60 g or a tennis ball, 0.13 1/m for a table tennis ball: half-Cauchy with this scale, cut at
	// mostDrag.
	dropDrag = 0.02 // 1/m
	mostDrag = 0.15 // 1/m
	// Buoyancy and added mass take up to 3/2 of the ratio of air to ball density off: 0 to
	// 2.4 %, most balls less than 1.2 %. Exponential with this mean.
	dropBuoyancy = 0.005
)

// mostMisfit is how far the residuals of the best fall may exceed the trace's own uncertainty.
// Drawn drops reach 0.8 to 1.2 (TestDropCheck), and the uncertainty a trace states is right
// within a factor of two; beyond, what moves does not fall freely: a hand goes with it, it
// touches something, something else was followed.
const mostMisfit = 2.5

// freeFall answers free_fall_acceleration from all frames, none set aside: the posterior of (virtual)
// release instant, drag, level and acceleration on a grid, the noise level taken from the residuals (Student-t).
func (in *Input) freeFall(all []Observation, n int) (metrology.Answer, []float64, []fault.Warning) {
	a := metrology.Answer{ID: FreeFallAcceleration, Lane: in.Lane, Unit: "m/s2"}
	if g := in.Questions.Gravity.Value; g > 0 {
		a.Expected = &g
	}
	obs, cut := inFlight(all)
	var warn []fault.Warning
	if cut > 0 {
		warn = append(warn, fault.Warning{Code: "landing-left-out", Message: fmt.Sprintf(
			"the fall ends %d frames before the last one: the frames from the landing on are not used for the free-fall acceleration", cut)})
	}
	obs, points := withoutOutliers(obs)
	if points == nil {
		a.Status, a.Reason = metrology.Insufficient, "too few frames show the fall, or it is not one"
		return a, nil, warn
	}
	if misfit := mostLikely(points).level; misfit > mostMisfit {
		a.Status, a.Reason = metrology.Insufficient, fmt.Sprintf("the motion is no free fall: it leaves the best one by %.2g times the trace's uncertainty", misfit)
		return a, nil, warn
	}
	d := dropDraws{in: in, obs: obs, points: points}
	values := d.draw(n, "")
	if why := noFreeFall(values, in.Questions.Gravity.Value); why != "" {
		a.Status, a.Reason = metrology.Insufficient, why
		return a, nil, warn
	}
	var held [][]float64
	sources := append([]string{air}, in.sources()...)
	for _, name := range sources {
		held = append(held, d.draw(min(n, budgetDraws), name))
	}
	fillAnswer(&a, values)
	a.Budget = budget(values, held, sources)
	return a, values, warn
}

// air is the budget's name for drag and buoyancy.
const air = "drag and buoyancy of the air"

// An acceleration below this share of gravity is no free fall (an object lowered by hand, or
// rolling down a slope); one that is uncertain by more than the second share says nothing.
const (
	leastFall  = 0.4
	widestFall = 0.1
)

// noFreeFall says why draws of an acceleration are no answer, "" where they are.
func noFreeFall(draws []float64, gravity float64) string {
	if gravity <= 0 {
		gravity = 9.8
	}
	mid, u := median(draws), metrology.SD(draws)
	switch {
	case mid < leastFall*gravity:
		return fmt.Sprintf("the object gains speed at %.2g m/s2 only: it is not falling freely, or scale or capture rate are far off", mid)
	case !(u < widestFall*gravity):
		return "the frames in free fall do not determine the acceleration"
	}
	return ""
}

// dropDraws draws the free-fall acceleration.
type dropDraws struct {
	in     *Input
	obs    []Observation
	points []dropPoint
}

// draw returns n draws with one source of the common errors held.
func (d *dropDraws) draw(n int, hold string) []float64 {
	r := stream(d.in.Seed, 0x64726f70)
	cdf := make([]float64, len(d.points))
	best := mostLikely(d.points)
	var c float64
	for i := range d.points {
		if p := &d.points[i]; hold != air || p.fall.k == best.fall.k {
			c += p.weight
		}
		cdf[i] = c
	}
	out := make([]float64, n)
	for i := range out {
		p := &d.points[pick(cdf, (float64(i)+r.Float64())/float64(n)*c)]
		var chi2 float64
		dof := int(p.dof)
		for range dof {
			z := r.NormFloat64()
			chi2 += z * z
		}
		level := p.level * math.Sqrt(p.dof/chi2)
		x, y := r.NormFloat64(), r.NormFloat64()
		a := p.fall.a + level*(p.root.At(1, 0)*x+p.root.At(1, 1)*y)
		buoyancy := dropBuoyancy * r.ExpFloat64()
		if hold == air {
			buoyancy = dropBuoyancy
		}
		if hold == traceNoise {
			p, a, buoyancy = best, best.fall.a, dropBuoyancy
		}
		tr := d.in.truth(i, hold)
		for j, o := range d.obs {
			h := p.fall.height(o.T)
			y, _, _ := tr.warp.At(h)
			a += p.lever[j] * (y - h)
		}
		out[i] = a / (1 - buoyancy) / (tr.clock * tr.clock)
	}
	return out
}

// mostLikely returns the point of the largest weight.
func mostLikely(points []dropPoint) *dropPoint {
	best := &points[0]
	for i := range points {
		if points[i].weight > best.weight {
			best = &points[i]
		}
	}
	return best
}

// pick returns the first index at which the cumulated weights reach x.
func pick(cdf []float64, x float64) int {
	lo, hi := 0, len(cdf)-1
	for lo < hi {
		if m := (lo + hi) / 2; cdf[m] < x {
			lo = m + 1
		} else {
			hi = m
		}
	}
	return lo
}
