package trace

import (
	"math"

	"padside/fit"
	"padside/register"
)

// Whom to learn from. Before its own weights are known, a match knows not what is background. A narrow vehicle that comes from dark trees before
// a bright sky is then matched by an edge of the wrong side, a pixel or two beside itself, and a veil learned from there says that
// it is right. So one learns outward: first from the frames nearest to rest, behind which lies what lay there at rest, then from those
// that lie farther, which are matched with what was learned. The coarse search, which compares far fewer pixels, but those of the vehicle
// alone, errs by a tenth of a pixel or two and does not share that error: only matches on which both agree teach.

const (
	// agreeing is by how much, px, the fine and the coarse place may differ beside what they differ by where the reference was taken.
	agreeing = 0.6
	// stages are the rounds in which learning gets from rest to the last frame; fewer frames in motion than leastStaged are learned from at once.
	stages      = 3
	leastStaged = 12
)

// outward lets the frames up to the part stage/stages of those in motion teach; those that come in start as they were first matched where
// the coarse search agrees, else from the coarse place in the shape of the last frame before.
func (r *refiner) outward(stage int) {
	was := r.until
	r.until = len(r.sights)
	moving := r.inMotion(r.until)
	if r.flight || len(moving) < leastStaged {
		return
	}
	if stage < stages {
		r.until = moving[len(moving)*stage/stages]
	}
	x, y, ok := r.usualOff()
	if !ok {
		return
	}
	for i := was; i < r.until; i++ {
		if w := &r.warps[i]; r.along(i) > 3 && r.apart(i, x, y) {
			*w = register.Warp{X: r.sights[i].x + x, Y: r.sights[i].y + y, A: r.warps[was-1].A, B: r.warps[was-1].B}
		}
	}
}

// apart reports whether sighting i lies elsewhere than the coarse search says, which is usually off by (x, y) and knows no size.
func (r *refiner) apart(i int, x, y float64) bool {
	w, s := &r.warps[i], &r.sights[i]
	grown := math.Abs(w.Size()-1) / 2
	return math.Abs(w.X-s.x-x) > agreeing+grown*float64(r.patchW) || math.Abs(w.Y-s.y-y) > agreeing+grown*float64(r.patchH)
}

// heed marks matches that are apart from the coarse search as failed, and sets their places to where that saw the vehicle. It does nothing
// where too few would be left to learn from.
func (r *refiner) heed() {
	if r.flight {
		return
	}
	bx, by, ok := r.usualOff()
	if !ok {
		return
	}
	var apart []int
	together := 0
	for i := range r.matches {
		if !r.matches[i].OK || r.along(i) <= 3 {
			continue
		}
		if r.apart(i, bx, by) {
			apart = append(apart, i)
		} else {
			together++
		}
	}
	if together < 2*leastSamples || len(apart) == 0 {
		return
	}
	for _, i := range apart {
		r.matches[i].OK = false
		r.warps[i].X, r.warps[i].Y = r.sights[i].x+bx, r.sights[i].y+by
	}
}

// usualOff is by how much the fine places lie off the coarse ones where the reference was taken, px.
func (r *refiner) usualOff() (x, y float64, ok bool) {
	var xs, ys []float64
	for _, i := range r.refs {
		if r.sights[i].crop.W > 0 {
			xs, ys = append(xs, r.warps[i].X-r.sights[i].x), append(ys, r.warps[i].Y-r.sights[i].y)
		}
	}
	if len(xs) == 0 {
		return 0, 0, false
	}
	return fit.Median(xs), fit.Median(ys), true
}
