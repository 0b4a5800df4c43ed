package trace

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"padside/fault"
	"padside/register"
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
		p, err := f.path(ctx, l)
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
	res.Exposure = f.exposure()
	if e := res.Exposure; e.Contrary {
		res.Warnings = append(res.Warnings, fault.Warning{Code: "exposure-contradicted", Message: fmt.Sprintf(
			"the exposure is stated as %.3g ms, and what moves is drawn out as by %.3g ms; the pictures are matched as they look: check exposure, and the frame rate",
			1e3*f.o.Exposure, 1e3*e.Value)})
	}
	return res, nil
}

// exposure is what the lane that knows it best has of it: all are of one camera.
func (f *follower) exposure() Exposure {
	best := f.o.exposure()
	for _, e := range f.exposures {
		if e.Seen && (!best.Seen || e.U < best.U) {
			best = e
		}
	}
	return best
}

// path matches one lane finely.
func (f *follower) path(ctx context.Context, l *lane) (*Path, error) {
	if !l.moved {
		return nil, fault.NoAnswerf("give a frame and a box that hold the vehicle before it moves, and footage that shows it leave",
			"what the box holds does not move: less than %g px in %d frames", restSlack, f.o.To-f.o.From)
	}
	l.cutFalseStart()
	r, ok := f.refined(l)
	if !ok {
		return nil, fault.Requestf("choose a part with edges or bands across the flight: the nose, or a painted ring",
			"the box at (%d, %d), %d x %d px, holds too little texture to follow", l.patch.X, l.patch.Y, l.patch.W, l.patch.H)
	}
	p := f.pathOf(l, r)
	r, p, err := f.heldAgainst(ctx, l, r, p)
	if err != nil {
		return nil, err
	}
	f.exposures = append(f.exposures, r.shown)
	r.addDoubt(p.Points)
	l.torn = r.torn
	p.Ruler = r.ruler()
	l.left = l.left && !l.lostAt(p)
	p.LeftView = l.left
	p.mark(f.o.marksOf(l.number), f.steady.At)
	p.Streak = l.columns.streak(p.Points, p.Line)
	slices.SortFunc(p.Dropped, func(a, b Dropped) int { return a.Frame - b.Frame })
	return p, nil
}

// pathOf is the path that r matched of a lane.
func (f *follower) pathOf(l *lane, r *refiner) *Path {
	p := &Path{Lane: l.number, Line: r.line}
	if f.lengths != nil {
		p.Length = f.lengths[l.number-1]
	}
	for _, d := range l.dropped {
		if d.Frame > l.sights[0].frame {
			p.Dropped = append(p.Dropped, d)
		}
	}
	r.points(p)
	return p
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
		basis: f.basis, workers: f.o.Workers, exposure: f.o.Exposure, shown: f.o.exposure(), steady: f.steady, plain: w == plainly, flight: w == inFlight,
		patchW: l.patch.W, patchH: l.patch.H, sights: l.sights, weight: l.weight, renewed: l.renewed, falls: l.down, few: f.few(), drift: f.drift, alone: codedAlone(f.src),
	}
	r.most = f.o.longestExposure()
	switch {
	case w == wholly:
		r.back = backdropOf(&f.still, flightBand(l.sights), f.basis)
		if l.mask != nil {
			r.weight = l.mask // until its own are learned: what is background too draws the match along, and false matches teach falsely
		}
	case w == inFlight:
		r.core, r.weight = narrowed(l.mask, l.patch.W, l.patch.H, rimKept), widened(l.mask, l.patch.W, l.patch.H, rimKept)
	case l.mask != nil:
		r.weight = l.mask
	}
	return r, r.run()
}

// rimKept is how far around the pixels that are evidently the vehicle's, px, those are matched in which its edge may show.
const rimKept = 3

// flightBand is the part of the picture the crops cover.
func flightBand(s []sighting) register.Area {
	a := s[0].crop.Area
	for _, p := range s {
		if p.crop.W == 0 {
			continue
		}
		c := p.crop.Area
		x1, y1 := max(a.X+a.W, c.X+c.W), max(a.Y+a.H, c.Y+c.H)
		a.X, a.Y = min(a.X, c.X), min(a.Y, c.Y)
		a.W, a.H = x1-a.X, y1-a.Y
	}
	return a.Grown(register.Reach)
}

// lostAt reports whether the path ends long before the lane does: then it was not the vehicle that left the picture.
func (l *lane) lostAt(p *Path) bool {
	n := len(p.Points)
	return n > 0 && l.sights[len(l.sights)-1].frame-p.Points[n-1].Frame > mostLost
}
