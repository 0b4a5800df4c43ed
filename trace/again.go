package trace

import (
	"math"

	"padside/register"
)

// A second start. Matching goes downhill from where it begins, and may come to rest beside the true place, where a band of paint looks like its
// neighbour or an edge of the background lies near. So some frames are matched again from a place ahead or behind. Where that ends elsewhere and looks
// as like, either may be the true one, and the places there are as doubtful as their difference. It costs 1 to 8 % of fine matching (three drawn clips).

const (
	againFrames = 16 // matched so
	// againLike is by how much the correlation at the second end may lie below that at the first for it to be another candidate.
	againLike = 0.02
	// againApart is how far apart, px, the ends are to lie for two places: rounding and the last step leave 0.0005.
	againApart = 0.02
	tornShare  = 0.25 // of these frames, from which on it is said
)

// againBy is how far off these starts lie, px: as far as a last stage may begin off the place, and as far as the coarse search may err.
var againBy = [...]float64{1.5, -1.5, 3, -3}

// startAgain matches some of the sightings idx from elsewhere, adds to r.doubt what that shows, and sets r.torn.
func (r *refiner) startAgain(idx []int) {
	some := thinned(idx, againFrames)
	if len(some) < leastSamples {
		return
	}
	ms := r.matchers(some, 4)
	apart := make([]float64, len(some))
	register.Parallel(len(some), r.workers, r.basis, func(s *register.Scratch, k int) {
		i, by := some[k], againBy[k%len(againBy)]
		from, at := r.warps[i], r.warps[i]
		from.X, from.Y = from.X+by*r.line.Ux, from.Y+by*r.line.Uy
		if got := r.matchFrom(s, ms[r.blur[i]], i, from); got.OK && got.Quality > r.matches[i].Quality-againLike {
			apart[k] = math.Abs((got.X-at.X)*r.line.Ux + (got.Y-at.Y)*r.line.Uy)
		}
	})
	two := 0
	times := make([]float64, len(some))
	for k, i := range some {
		times[k] = r.sights[i].t
		if apart[k] > againApart {
			two++
		} else {
			apart[k] = 0
		}
	}
	r.torn = float64(two) > tornShare*float64(len(some))
	if two == 0 {
		return
	}
	for i := some[0]; i < len(r.sights); i++ {
		r.doubt[i] = math.Hypot(r.doubt[i], between(times, apart, r.sights[i].t))
	}
}
