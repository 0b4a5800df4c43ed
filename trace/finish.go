package trace

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"padside/camera"
	"padside/fault"
	"padside/fit"
)

// finish matches finely what was followed and makes the result.
func (f *follower) finish(ctx context.Context) (*Result, error) {
	if f.lanes == nil {
		return nil, f.errNothing()
	}
	res := &Result{Onset: f.onset, Warnings: f.warnings, steady: f.steady, fromMarks: len(f.o.Marks) > 0}
	var paths []*Path
	lanes := map[*Path]*lane{}
	for _, l := range f.lanes {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		p, err := f.path(l)
		if err != nil {
			return nil, err
		}
		paths = append(paths, p)
		lanes[p] = l
	}
	slices.SortStableFunc(paths, func(a, b *Path) int { return cmp.Compare(a.Line.Rest.X, b.Line.Rest.X) })
	for i, p := range paths {
		p.Lane = i + 1
		res.Paths = append(res.Paths, *p)
		res.Warnings = append(res.Warnings, f.doubts(lanes[p], p)...)
	}
	return res, nil
}

// path matches one lane finely.
func (f *follower) path(l *lane) (*Path, error) {
	if !l.moved {
		return nil, fault.NoAnswerf("give a frame and a box that hold the vehicle before it moves, and footage that shows it leave",
			"what the box holds does not move: less than %g px in %d frames", restSlack, f.o.To-f.o.From)
	}
	r, ok := f.refined(l)
	if !ok {
		return nil, fault.Requestf("choose a part with edges or bands across the flight: the nose, or a painted ring",
			"the box at (%d, %d), %d x %d px, holds too little texture to follow", l.patch.x, l.patch.y, l.patch.w, l.patch.h)
	}
	p := &Path{Lane: l.number, Line: r.line, LeftView: l.left}
	if f.lengths != nil {
		p.Length = f.lengths[l.number-1]
	}
	for _, d := range l.dropped {
		if d.Frame > l.sights[0].frame {
			p.Dropped = append(p.Dropped, d)
		}
	}
	r.points(p)
	r.addDoubt(p.Points)
	p.mark(f.o.marksOf(l.number), f.steady.at)
	u, v := r.centre[0], r.centre[1]
	p.Streak = l.columns.streak(p.Points, u*r.line.Ux+v*r.line.Uy)
	slices.SortFunc(p.Dropped, func(a, b Dropped) int { return a.Frame - b.Frame })
	return p, nil
}

// coarseU is the least standard uncertainty, px, of a place that only the coarse search found.
const coarseU = 0.25

// leastFallBack is how many frames show whether coarse places lie on a smooth path.
const leastFallBack = 12

// fallBack takes the coarse places where fine matching has nothing to hold on to, with an
// uncertainty from how they scatter about a parabola through their neighbours.
func (r *refiner) fallBack() {
	n := len(r.sights)
	before, fine := slices.Clone(r.warps), r.line
	r.line = camera.FlightLine{}
	for i, s := range r.sights {
		r.warps[i] = warp{X: s.x, Y: s.y, A: 1}
	}
	r.orient()
	u := math.Hypot(coarseU, roughness(n, r.along))
	drift := renewalU * math.Sqrt(float64(r.renewed))
	if n < leastFallBack+4 || u > 3*coarseU {
		r.warps, r.line = before, fine // the coarse places are no better
		return
	}
	r.coarse = make([]bool, n)
	for i := range r.sights {
		r.takeCoarse(i, math.Hypot(u, drift))
	}
}

// renewalU is what taking a new reference for the coarse search may add to its error, px: one picture's noise and the changed looks.
const renewalU = 0.3

// takeCoarse makes the place of sighting i, in r.warps, a match of standard uncertainty u in either direction.
func (r *refiner) takeCoarse(i int, u float64) {
	c := [2][2]float64{{u * u, 0}, {0, u * u}}
	r.matches[i] = match{warp: r.warps[i], g: 1, quality: r.sights[i].quality, cov: c, white: c, ok: true}
	r.coarse[i] = true
}

// refined matches a lane finely, the best way that does not go astray; where none does, its coarse places are taken. It
// reports false where the patch has no texture to hold on to.
func (f *follower) refined(l *lane) (*refiner, bool) {
	ways := []way{wholly, plainly}
	switch {
	case l.mask == nil || len(l.sights) < leastFallBack+4:
	case l.loose:
		ways = []way{inFlight, wholly, plainly}
	default:
		ways = []way{wholly, inFlight, plainly}
	}
	var first *refiner
	for _, w := range ways {
		r, ok := f.refine(l, w)
		if ok && !r.astray {
			return r, true
		}
		if ok && first == nil {
			first = r
		}
	}
	if first == nil {
		return nil, false
	}
	first.fallBack()
	return first, true
}

// way is how a lane is matched finely.
type way int

const (
	wholly   way = iota // reference at rest; weights, background and size are learned
	inFlight            // reference in flight; weights and size are learned
	plainly             // reference at rest, the place alone
)

// refine matches a lane finely. It reports whether the patch has texture to hold on to.
func (f *follower) refine(l *lane, w way) (*refiner, bool) {
	r := &refiner{
		basis: f.basis, workers: f.o.Workers, exposure: f.o.Exposure, steady: f.steady, plain: w == plainly, flight: w == inFlight,
		patchW: l.patch.w, patchH: l.patch.h, sights: l.sights, weight: l.weight, renewed: l.renewed,
	}
	switch {
	case w == wholly:
		r.back = backdropOf(&f.still, flightBand(l.sights), f.basis)
	case w == inFlight:
		r.core, r.weight = narrowed(l.mask, l.patch.w, l.patch.h, rimKept), widened(l.mask, l.patch.w, l.patch.h, rimKept)
	case l.mask != nil:
		r.weight = l.mask
	}
	return r, r.run()
}

// rimKept is how far around the pixels that are evidently the vehicle's, px, those are matched in which its edge may show.
const rimKept = 3

// flightBand is the part of the picture the crops cover.
func flightBand(s []sighting) area {
	a := s[0].crop.area
	for _, p := range s {
		if p.crop.w == 0 {
			continue
		}
		c := p.crop.area
		x1, y1 := max(a.x+a.w, c.x+c.w), max(a.y+a.h, c.y+c.h)
		a.x, a.y = min(a.x, c.x), min(a.y, c.y)
		a.w, a.h = x1-a.x, y1-a.y
	}
	return a.grown(reach)
}

// points makes the trace from the last matches.
func (r *refiner) points(p *Path) {
	var q []float64
	for _, m := range r.matches {
		if m.ok {
			q = append(q, m.quality)
		}
	}
	usual := fit.Median(q)
	r.leaveOutStrays()
	ratio := r.shareOfNeighbours()
	ux, uy := r.line.Ux, r.line.Uy
	one := r.sizeAtRest()
	copied := r.copied()
	coded := 0.0
	if r.compressed(copied) {
		coded = codedU
	}
	for i := range r.matches {
		m, s := &r.matches[i], &r.sights[i]
		if r.stray[i] {
			p.Dropped = append(p.Dropped, Dropped{s.frame, "off the path that the frames around it show"})
			continue
		}
		if !m.ok || m.quality < min(leastMatch, 0.6*usual) {
			p.Dropped = append(p.Dropped, Dropped{s.frame, fmt.Sprintf("no close match: correlation %.2f", m.quality)})
			continue
		}
		k := r.steady.at(s.frame, m.X, m.Y)
		c := m.white
		vx := ux*ux*c[0][0] + 2*ux*uy*c[0][1] + uy*uy*c[1][1]
		va := uy*uy*c[0][0] - 2*ux*uy*c[0][1] + ux*ux*c[1][1]
		size := m.size()
		// Beyond noise: what sampling, background and shape leave once the vehicle is off the place the reference was taken at.
		left := leftOver * min(1, math.Abs(r.along(i))/leftOverFrom)
		vx, va = vx*ratio[i]+left*left+coded*coded, va*ratio[i]+left*left+coded*coded
		p.Points = append(p.Points, Point{
			Frame: s.frame, X: m.X - k.dx, Y: m.Y - k.dy, Row: m.Y,
			U:      math.Sqrt(vx + (ux*k.ux)*(ux*k.ux) + (uy*k.uy)*(uy*k.uy)),
			Across: math.Sqrt(va + (uy*k.ux)*(uy*k.ux) + (ux*k.uy)*(ux*k.uy)),
			Size:   size / one, USize: r.usize(i), Quality: m.quality, Source: r.source(i), Copy: coded > 0 && copied[i],
		})
	}
	p.trim()
}

// trim drops coarse points at the beginning that hang together with the rest by nothing: what was lost between may have been
// taken up wrongly.
func (p *Path) trim() {
	for i := 1; i < len(p.Points) && p.Points[i-1].Source == SourceCoarse; i++ {
		if p.Points[i].Frame-p.Points[i-1].Frame <= longestGap {
			continue
		}
		for _, q := range p.Points[:i] {
			p.Dropped = append(p.Dropped, Dropped{q.Frame, "before a stretch in which the vehicle was lost"})
		}
		p.Points = slices.Delete(p.Points, 0, i)
		return
	}
}

// longestGap is how many frames a coarse search bridges without doubt.
const longestGap = 4

// leftOver is the standard uncertainty, px, of what learning reference, background and size leaves, reached
// leftOverFrom px away from rest: the root mean square error on drawn launches beyond the noise (TestFollow).
const (
	leftOver     = 0.02
	leftOverFrom = 3.0
)

// leaveOutStrays marks matches that lie off the path: beside the flight line, backwards, or
// far from where the frames around them say. A false match is worse than none.
func (r *refiner) leaveOutStrays() {
	n := len(r.matches)
	r.stray = make([]bool, n)
	for range 3 {
		again := false
		for i := range n {
			if r.stray[i] || !r.matches[i].ok {
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
			if r.matches[k].ok && !r.stray[k] {
				out = append(out, k)
			}
		}
		return out
	}
	before, after := near(i-1, -1), near(i+1, 1)
	across := func(k int) float64 {
		x, y := r.steadied(k)
		return -(x-r.line.Rest.X)*r.line.Uy + (y-r.line.Rest.Y)*r.line.Ux
	}
	s, t := r.along(i), r.sights[i].t
	limit := func(way float64) float64 { return 3 + 0.6*math.Abs(way) }
	switch {
	case len(before) > 0 && len(after) > 0:
		a, b := before[0], after[0]
		f := (t - r.sights[a].t) / (r.sights[b].t - r.sights[a].t)
		mid := r.along(a) + f*(r.along(b)-r.along(a))
		side := across(a) + f*(across(b)-across(a))
		way := r.along(b) - r.along(a)
		return math.Abs(s-mid) > limit(way) || math.Abs(across(i)-side) > 3+0.1*math.Abs(way), true
	case len(before) == 2:
		a, b := before[1], before[0]
		v := (r.along(b) - r.along(a)) / (r.sights[b].t - r.sights[a].t)
		gap := r.sights[i].frame - r.sights[b].frame
		ahead := r.along(b) + v*(t-r.sights[b].t)
		way := v * (t - r.sights[b].t)
		if math.Abs(across(i)-across(b)) > 3+0.15*math.Abs(way) {
			return true, true
		}
		if gap <= 1 {
			return math.Abs(way) > 3 && (s-r.along(b))*way < 0 && math.Abs(s-r.along(b)) > 3, true
		}
		return s < r.along(b)-3 && v > 0 || math.Abs(s-ahead) > 5+0.8*math.Abs(way), true
	}
	return false, false
}

// source is how sighting i was placed.
func (r *refiner) source(i int) string {
	if r.coarse != nil && r.coarse[i] {
		return SourceCoarse
	}
	return SourceFollowed
}

// usize is the standard uncertainty of the size in frame i from that frame's pixels alone; 1 where they say nothing.
func (r *refiner) usize(i int) float64 {
	if r.usizes != nil && r.usizes[i] > 0 && r.source(i) == SourceFollowed {
		return r.usizes[i]
	}
	return 1
}

// shareOfNeighbours is, per frame, how much larger the variance along the line is than if pixels erred by
// themselves: the median over neighbouring frames of the ratio of both estimates, at least 1.
func (r *refiner) shareOfNeighbours() []float64 {
	const half = 8
	n := len(r.matches)
	one := make([]float64, n)
	ux, uy := r.line.Ux, r.line.Uy
	along := func(c [2][2]float64) float64 { return ux*ux*c[0][0] + 2*ux*uy*c[0][1] + uy*uy*c[1][1] }
	for i, m := range r.matches {
		one[i] = 1
		if w := along(m.white); m.ok && w > 0 {
			one[i] = along(m.cov) / w
		}
	}
	out := make([]float64, n)
	for i := range out {
		out[i] = max(1, fit.Median(one[max(0, i-half):min(n, i+half+1)]))
	}
	return out
}
