package trace

import (
	"math"
	"slices"

	"padside/fit"
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
	if r.exposure <= 0 {
		return
	}
	var own float64
	for _, i := range r.refs {
		own += r.speed(i) / float64(len(r.refs))
	}
	for i := range r.sights {
		r.blur[i] = min(mostBlur, int(math.Round(max(0, r.speed(i)-own)*r.exposure/r.warps[i].size()/blurStep)))
	}
}

// guessExposure finds the exposure with which the fastest frames look most like the reference drawn out by it.
func (r *refiner) guessExposure() {
	n := len(r.sights)
	idx := make([]int, 0, n)
	for i := range n {
		if r.sights[i].crop.w > 0 {
			idx = append(idx, i)
		}
	}
	slices.SortStableFunc(idx, func(a, b int) int {
		return int(math.Round(1000 * (r.speed(b) - r.speed(a)) * (r.sights[n-1].t - r.sights[0].t) / float64(n)))
	})
	idx = idx[:min(len(idx), 8)]
	if n < 2 || len(idx) == 0 {
		return
	}
	step := (r.sights[n-1].t - r.sights[0].t) / float64(r.sights[n-1].frame-r.sights[0].frame)
	if r.speed(idx[0])*step < leastDrawn {
		return
	}
	best, exposure := 0.0, 0.0
	for _, share := range []float64{0, 0.1, 0.2, 0.3, 0.45, 0.6, 0.8, 1} {
		r.exposure = share * step
		r.measureBlur()
		ms := r.matchers(idx, 4)
		q := make([]float64, len(idx))
		parallel(len(idx), r.workers, r.basis, func(s *scratch, k int) {
			if m := r.match(s, ms[r.blur[idx[k]]], idx[k]); m.ok {
				q[k] = m.quality
			}
		})
		if m := fit.Median(q); m > best+0.002 {
			best, exposure = m, r.exposure
		}
	}
	r.exposure = exposure
	clear(r.blur)
}

// leastDrawn is the way in one frame interval, px, from which on an unknown exposure may show.
const leastDrawn = 3.0

// matchers makes one for each blur that occurs among the sightings, with n regressors.
func (r *refiner) matchers(idx []int, n int) map[int]*matcher {
	var keys []int
	for _, i := range idx {
		keys = append(keys, r.blur[i])
	}
	slices.Sort(keys)
	keys = slices.Compact(keys)
	fields := r.looks(keys)
	made := make([]*matcher, len(keys))
	parallel(len(keys), r.workers, r.basis, func(_ *scratch, k int) {
		if m, ok := r.patch.matching(fields[k], n, r.rough); ok {
			made[k] = m
		}
	})
	out := map[int]*matcher{}
	for k, key := range keys {
		out[key] = made[k]
	}
	return out
}

// mostLooks bounds the pixels of all the looks that are kept: 24 MB.
const mostLooks = 1 << 20

// looks makes, or has kept, how the patch looks at each of the blurs.
func (r *refiner) looks(keys []int) []*field {
	fields := make([]*field, len(keys))
	parallel(len(keys), r.workers, r.basis, func(_ *scratch, k int) {
		if fields[k] = r.seenAt[keys[k]]; fields[k] == nil {
			b := float64(keys[k]) * blurStep
			fields[k] = r.patch.looks(r.basis, b*r.line.Ux, b*r.line.Uy)
		}
	})
	if r.seenAt == nil {
		r.seenAt = map[int]*field{}
	}
	for k, key := range keys {
		if len(r.seenAt)*r.patchW*r.patchH < mostLooks {
			r.seenAt[key] = fields[k]
		}
	}
	return fields
}
