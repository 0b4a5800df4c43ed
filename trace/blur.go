package trace

import (
	"math"
	"slices"

	"padside/register"
)

const (
	blurStep = 0.5 // px: a blur length off by half of it is not seen
	mostBlur = 100 // steps
)

// speed is how fast the picture of the vehicle moves in sighting i, px/s.
func (r *refiner) speed(i int) float64 {
	a, b := max(0, i-1), min(len(r.sights)-1, i+1)
	way := math.Hypot(r.warps[b].X-r.warps[a].X, r.warps[b].Y-r.warps[a].Y)
	if a == b || way < 0.5 {
		return 0
	}
	return way / (r.sights[b].t - r.sights[a].t)
}

// measureBlur works out how far each frame's picture is drawn out, speed times exposure in px of the reference, beyond what the
// reference itself is where no frame is at rest.
func (r *refiner) measureBlur() {
	for i := range r.sights {
		r.blur[i] = r.blurOf(i, r.exposure)
		r.sharper[i] = r.sharperBy(i)
	}
}

// sharperBy is how far a reference from flight is drawn out, speed times exposure in px of the frame, beyond what the slower sighting i is: before it
// is matched, its picture is drawn out by as much.
func (r *refiner) sharperBy(i int) float64 {
	if !r.flight {
		return 0
	}
	v, own := r.speed(i), r.ownSpeed()
	return math.Sqrt(max(0, own*own-v*v)) * r.exposure * r.warps[i].Size()
}

// leastSharper is the length, px, from which on that is done: less changes hardly anything beside the lens's own softness.
const leastSharper = 1.0

// blurOf is that of sighting i for an exposure in s, in steps of blurStep. Lengths of even blurs add by their squares.
func (r *refiner) blurOf(i int, exposure float64) int {
	return min(mostBlur, int(math.Round(math.Sqrt(r.quicker(i))*exposure/r.warps[i].Size()/blurStep)))
}

// quicker is by how much the square of the speed of sighting i is above that of the sightings the reference is made from, (px/s)^2.
func (r *refiner) quicker(i int) float64 {
	v, own := r.speed(i), r.ownSpeed()
	return max(0, v*v-own*own)
}

// ownSpeed is how fast the picture moves in the sightings the reference is made from, px/s.
func (r *refiner) ownSpeed() (own float64) {
	for _, k := range r.refs {
		own += r.speed(k) / float64(len(r.refs))
	}
	return own
}

// matchers makes one for each blur that occurs among the sightings, with n regressors.
func (r *refiner) matchers(idx []int, n int) map[int]*register.Matcher {
	var keys []int
	for _, i := range idx {
		keys = append(keys, r.blur[i])
	}
	slices.Sort(keys)
	keys = slices.Compact(keys)
	fields := r.looks(keys)
	made := make([]*register.Matcher, len(keys))
	register.Parallel(len(keys), r.workers, r.basis, func(_ *register.Scratch, k int) {
		if m, ok := r.patch.Matching(fields[k], n, r.rough); ok {
			made[k] = m
		}
	})
	out := map[int]*register.Matcher{}
	for k, key := range keys {
		out[key] = made[k]
	}
	return out
}

// mostLooks bounds the pixels of all the looks that are kept: 24 MB.
const mostLooks = 1 << 20

// looks makes, or has kept, how the patch looks at each of the blurs.
func (r *refiner) looks(keys []int) []*register.Field {
	fields := make([]*register.Field, len(keys))
	register.Parallel(len(keys), r.workers, r.basis, func(_ *register.Scratch, k int) {
		if fields[k] = r.seenAt[keys[k]]; fields[k] == nil {
			b := float64(keys[k]) * blurStep
			fields[k] = r.patch.Looks(r.basis, b*r.line.Ux, b*r.line.Uy)
		}
	})
	if r.seenAt == nil {
		r.seenAt = map[int]*register.Field{}
	}
	for k, key := range keys {
		if len(r.seenAt)*r.patchW*r.patchH < mostLooks {
			r.seenAt[key] = fields[k]
		}
	}
	return fields
}
