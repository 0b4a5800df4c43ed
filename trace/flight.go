package trace

import (
	"math"

	"padside/fit"
	"padside/register"
)

// A reference from flight. At rest the vehicle may be held: by a hand, a release, a launcher that hides part of it. Then
// nothing that is seen at rest is the vehicle alone, and the reference is taken from the first frames in which it has left
// that behind and is still slow, hence little blurred.

const (
	flightFrames = 8   // that are averaged
	flightAway   = 1.2 // lengths of the patch from rest
)

// chooseReference decides which sightings the reference is made from.
func (r *refiner) chooseReference() {
	r.refs, r.origin = r.rest, 0
	if !r.flight {
		return
	}
	away := flightAway * float64(max(r.patchW, r.patchH))
	var refs []int
	for i := range r.sights {
		if r.along(i) > away && r.sights[i].crop.W > 0 && len(refs) < flightFrames {
			refs = append(refs, i)
		}
	}
	if len(refs) == 0 {
		return
	}
	r.refs = refs
	for _, i := range refs {
		r.origin += r.along(i) / float64(len(refs))
	}
}

// registerOutward matches the sightings one after the other, from the reference both ways, each from where its neighbour was
// matched: size and turn change by degrees, and so does what the coarse search is off by.
func (r *refiner) registerOutward() {
	all := make([]int, len(r.sights))
	for i := range all {
		all[i] = i
		r.matches[i].OK = false
	}
	ms := r.matchers(all, register.MaxTerms)
	s := register.NewScratch(r.basis)
	middle := r.refs[len(r.refs)/2]
	for _, step := range []int{1, -1} {
		near := register.Warp{A: 1}
		for i := middle; i >= 0 && i < len(r.sights); i += step {
			c := &r.sights[i]
			r.warps[i] = register.Warp{X: c.x + near.X, Y: c.y + near.Y, A: near.A, B: near.B}
			got := r.match(s, ms[r.blur[i]], i)
			r.matches[i] = got
			if r.matches[i].OK = r.near(i) && got.Quality > register.LeastMatch; !r.matches[i].OK {
				continue
			}
			r.warps[i] = got.Warp
			near.X, near.Y = got.X-c.x, got.Y-c.y
			k := min(1, outwardGain/max(got.USize, outwardGain)) // a size that the picture does not tell is not passed on
			near.A, near.B = near.A+k*(got.A-near.A), near.B+k*(got.B-near.B)
		}
	}
}

// matchCore matches the sightings among idx that failed by the vehicle's inside alone: what holds it hides its edge.
func (r *refiner) matchCore(idx []int) {
	var failed []int
	for _, i := range idx {
		if !r.near(i) || r.matches[i].Quality < register.LeastMatch {
			failed = append(failed, i)
		}
	}
	if len(failed) == 0 {
		return
	}
	whole, inside := r.patch, *r.patch
	inside.Weight = r.core
	r.patch = &inside
	r.matchAll(failed, 4)
	r.patch = whole
}

// outwardGain is the standard uncertainty of size up to which a match's size is the next one's start.
const outwardGain = 0.02

// asUsual is by how much a match's correlation may lie below the usual one.
const asUsual = 0.05

// fillCoarse takes the coarse places of the sightings that were not matched, moved by what the coarse search was off by at the
// nearest one that was, where their correlation exceeds least; what it was off by in all tells how far such a place may err.
func (r *refiner) fillCoarse(least float64) {
	n := len(r.sights)
	var all []float64
	for i := range r.matches {
		if r.matches[i].OK {
			all = append(all, r.matches[i].Quality)
		}
	}
	if len(all) == 0 {
		return
	}
	sure := max(register.LeastMatch, fit.Median(all)-asUsual) // what a doubtful match was off by says nothing of the coarse search
	lone := r.lone()
	good := func(i int) bool { return r.matches[i].OK && r.matches[i].Quality > sure && !lone[i] }
	off := make([]register.Warp, 0, n)
	var ex, ey []float64
	nearest := make([]int, n)
	last := -1
	for i := range r.matches {
		if good(i) {
			last = i
			off = append(off, register.Warp{X: r.warps[i].X - r.sights[i].x, Y: r.warps[i].Y - r.sights[i].y})
			ex, ey = append(ex, off[len(off)-1].X), append(ey, off[len(off)-1].Y)
		}
		nearest[i] = last
	}
	if len(off) < leastSamples {
		return
	}
	for i := n - 1; i >= 0; i-- {
		if good(i) {
			last = i
		}
		if k := nearest[i]; k < 0 || abs(last-i) < abs(k-i) {
			nearest[i] = last
		}
	}
	first := nearest[0]
	_, sx := fit.MAD(ex)
	_, sy := fit.MAD(ey)
	u := math.Hypot(coarseU, max(sx, sy))
	r.coarse, r.wander = make([]bool, n), make([]float64, n)
	for i := range r.sights {
		if k := nearest[i]; k != i && !(r.matches[i].OK && r.matches[i].Quality > register.LeastMatch && !lone[i]) && r.sights[i].quality > least {
			c, m := &r.sights[i], &r.sights[k]
			if i < first {
				r.wander[i] = r.wandered(good, k, k-i)
			}
			r.warps[i] = register.Warp{X: c.x + r.warps[k].X - m.x, Y: c.y + r.warps[k].Y - m.y, A: r.warps[i].A, B: r.warps[i].B}
			r.takeCoarse(i, u)
		}
	}
}

// mostWander is how far, px, the coarse search may be off by otherwise than where it was last compared for its place to be one: it is good to a pixel or two.
const mostWander = 2.0

// wandered is how much what the coarse search is off by along the line changes from sighting k, the first that was matched, over up to by sightings on: it
// may have changed as much before, where nothing shows it. All sightings there err by that together.
func (r *refiner) wandered(good func(int) bool, k, by int) (most float64) {
	off := func(i int) float64 {
		return (r.warps[i].X-r.sights[i].x)*r.line.Ux + (r.warps[i].Y-r.sights[i].y)*r.line.Uy
	}
	for i := k; i < len(r.sights) && i <= k+by; i++ {
		if good(i) {
			most = max(most, math.Abs(off(i)-off(k)))
		}
	}
	return most
}

// restWander is the median of that over the sightings at rest, 0 where they were mostly matched.
func (r *refiner) restWander() float64 {
	if r.wander == nil {
		return 0
	}
	var at []float64
	for _, i := range r.rest {
		if r.matches[i].OK && r.wander[i] <= mostWander { // the others are left out
			at = append(at, r.wander[i])
		}
	}
	return fit.Median(at)
}

// lone marks matches of what falls that most of the frames around them lack: where it is not matched before a background of its own brightness, the few that
// are were drawn to an edge behind it (ball 5006: up to 2 px).
func (r *refiner) lone() []bool {
	n := len(r.matches)
	out := make([]bool, n)
	if !r.falls {
		return out
	}
	for i := range out {
		with, of := 0, 0
		for k := max(0, i-loneReach); k < min(n, i+loneReach+1); k++ {
			if of++; r.matches[k].OK && r.matches[k].Quality > register.LeastMatch {
				with++
			}
		}
		out[i] = 2*with < of
	}
	return out
}

const loneReach = 4 // frames before and after

// sizeAtRest is the size of the vehicle at rest in units of the reference's.
func (r *refiner) sizeAtRest() float64 {
	var sum float64
	for _, i := range r.rest {
		sum += r.warps[i].Size() / float64(len(r.rest))
	}
	return math.Max(sum, 1e-3)
}

// widened marks what lies within by px of a weighted pixel of the w by h mask.
func widened(mask []float32, w, h, by int) []float32 {
	out := make([]float32, w*h)
	for k, v := range mask {
		if v == 0 {
			continue
		}
		for y := max(0, k/w-by); y <= min(h-1, k/w+by); y++ {
			for x := max(0, k%w-by); x <= min(w-1, k%w+by); x++ {
				out[y*w+x] = 1
			}
		}
	}
	return out
}

// narrowed marks the weighted pixels of the w by h mask that have only such around them, by px far.
func narrowed(mask []float32, w, h, by int) []float32 {
	outside := make([]float32, w*h)
	for k, v := range mask {
		if v == 0 {
			outside[k] = 1
		}
	}
	out := widened(outside, w, h, by)
	for k := range out {
		out[k] = 1 - out[k]
	}
	return out
}
