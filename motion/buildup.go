package motion

import "math"

// A build-up is looked for from where thrust that lasts builds up best. Of a flight whose thrust
// ends in view that place may be far off: the one motion that fits it all wanders so much that it
// begins anywhere. So a build-up is looked for from the step that fits with the same ending, too:
// of a length d it begins about d/2 before that step and is complete d/2 after it.

// rampLengths are the build-ups that a step is tried as, s.
var rampLengths = [...]float64{8e-3, 40e-3}

// rampUp adds to the modes of each structure whose thrust builds up those that lie near the step
// with the same ending, unless that lies hopelessly behind. Structures are those of shapes, begins
// to an ending.
func rampUp(probs []*problem, bumps [][]bump, e effort, each func(n int, f func(i int))) {
	best, laplace := evidences(bumps)
	each(len(probs)/begins, func(i int) {
		step, ramp := i*begins+int(atOnce), i*begins+int(builtUp)
		if len(bumps[step]) == 0 || laplace[step] < best-hopeless {
			return
		}
		p := probs[ramp]
		u := bumps[step][0].u
		starts := p.rampStarts(probs[step], u)
		if len(starts) == 0 {
			return
		}
		p.grid = probs[step].grid.earlier(p.s.t[0], rampLengths[len(rampLengths)-1]/p.s.unitT)
		bumps[ramp] = distinct(append(bumps[ramp], modes(p, starts, e)...), p.stepSizes())
		var us [][]float64
		for _, b := range bumps[ramp] {
			us = append(us, b.u)
		}
		p.widen(us)
	})
}

// rampStarts are points to climb from, given where a step is most probable.
func (p *problem) rampStarts(step *problem, u []float64) (out [][]float64) {
	first, _ := step.onsetMoments(u)
	after := u[step.endAt():]
	if math.IsNaN(first) {
		return nil
	}
	for _, d := range rampLengths {
		full := first + math.Max(d/2/p.s.unitT, 0.1*p.s.step)
		if p.shape.end != lasts && full >= after[0] || full >= p.s.t[len(p.s.t)-1] {
			continue
		}
		out = append(out, append(append(append([]float64(nil), u[:cFull]...), full), after...))
	}
	return out
}

// earlier is the grid from a time d before it on, but no earlier than least, of cells as wide.
func (g grid) earlier(least, d float64) grid {
	lo := math.Max(least, g.lo-d)
	n := math.Ceil((g.hi() - lo) / g.d)
	return grid{lo, (g.hi() - lo) / n, int(n)}
}
