package motion

import (
	"fmt"
	"math"

	"padside/fault"
	"padside/metrology"
)

// Priors of what air does to a falling ball (all derived from ball data; the balls people
// drop are 0.03 to 0.12 m across).
const (
	// Drag takes k v^2 off the acceleration. k = g/vt^2 is 0.006 to 0.04 1/m for balls of 4 cm and 10
	// to 60 g or a tennis ball, 0.13 1/m for a table tennis ball, 0.16 1/m for one of foam, 12 cm and 20
	// g: half-Cauchy with this scale, cut at mostDrag.
	dropDrag = 0.02 // 1/m
	mostDrag = 0.2  // 1/m
	// Buoyancy and added mass take b = 3/2 of the ratio of air to ball density off. Drag tells that ratio: with
	// k = 3/4 (ratio) Cd/D, b = 2 k D/Cd. D/Cd is 0.128 m, known to a factor of 1.5 (D even in its
	// logarithm over 0.03 to 0.12 m, Cd 0.47).
	buoyantLength  = 2 * 0.128 // m, b/k
	buoyantLengthU = 0.4       // standard deviation of its logarithm
)

// A fall that leaves the best one by more than mostMisfit times the trace's own uncertainty, and by more than
// mostOff of its way, is none: a hand goes with it, it touches something, something else was
// followed. Drawn drops reach 0.8 to 1.2 (TestDropCheck); what a trace or a lens bends smoothly by less than mostOff is in the
// interval (fallWhitener).
const (
	mostMisfit = 2.5
	mostOff    = 0.002
)

// freeFall answers free_fall_acceleration: the posterior of acceleration, drag and correlated
// errors of the trace over all frames in free flight, joined with what heights share.
func (in *Input) freeFall(all []Observation, n int) (metrology.Answer, []float64, []fault.Warning) {
	a := metrology.Answer{ID: FreeFallAcceleration, Lane: in.Lane, Unit: "m/s2"}
	if g := in.Questions.Gravity.Value; g > 0 {
		a.Expected = &g
	}
	silent := func(warn []fault.Warning, why string) (metrology.Answer, []float64, []fault.Warning) {
		a.Status, a.Reason = metrology.Insufficient, why
		return a, nil, warn
	}
	flights, warn := in.freeFlights(all)
	if flights == nil {
		return silent(warn, "too few frames show the fall, or it is not one")
	}
	top := flights[0][len(flights[0])-1].H
	fit := dropFit{flights: flights, shared: newShared(in, top, "")}
	if best, ok := fit.best(); !ok || best.misfit > mostMisfit && best.off > mostOff*fit.way() {
		return silent(warn, fmt.Sprintf("the motion is no free fall: it leaves the best one by %.2g times the trace's uncertainty", best.misfit))
	}
	d := dropDraws{in: in, fit: fit, points: fit.posterior()}
	values := d.draw(n, "")
	if values == nil {
		return silent(warn, "the frames in free fall do not determine the acceleration")
	}
	if why := noFreeFall(values, in.Questions.Gravity.Value); why != "" {
		return silent(warn, why)
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

// sameDrag is how near two drags are the same, 1/m.
const sameDrag = 0.002

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
	fit    dropFit
	points []dropPoint // with no source held
}

// draw returns n draws with one source held, nil where nothing fits.
func (d *dropDraws) draw(n int, hold string) []float64 {
	fit, points := d.fit, d.points
	if hold != "" && hold != air && hold != traceNoise && hold != timeBase {
		fit.shared = newShared(d.in, fit.shared.top, hold)
		points = fit.posterior()
	}
	if len(points) == 0 {
		return nil
	}
	r := stream(d.in.Seed, 0x64726f70)
	cdf := make([]float64, len(points))
	best := mostLikely(points)
	var c float64
	for i := range points {
		if p := &points[i]; hold != air || math.Abs(p.k-best.k) < sameDrag {
			c += p.weight
		}
		cdf[i] = c
	}
	out := make([]float64, n)
	for i := range out {
		p := &points[pick(cdf, (float64(i)+r.Float64())/float64(n)*c)]
		noise := p.noise * r.NormFloat64() / math.Sqrt(chiSquared(r, int(p.dof))/p.dof)
		length := buoyantLengthU * r.NormFloat64()
		switch hold {
		case air:
			length = 0
		case traceNoise:
			p, noise = best, 0
		}
		tr := d.in.fallen(i, hold, fit.shared.top)
		a := p.a + noise
		for j, z := range fit.shared.point(tr.warp) {
			a += p.gain[j] * z
		}
		buoyancy := p.k * buoyantLength * math.Exp(length)
		out[i] = a / (1 - math.Min(buoyancy, 0.5)) / (tr.clock * tr.clock)
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
