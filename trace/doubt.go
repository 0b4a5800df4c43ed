package trace

import (
	"math"
	"slices"

	"padside/fit"
	"padside/register"
)

// A second opinion on where the vehicle was. The reference from rest is matched before backgrounds that differ from the one
// at rest; what it is off by then does not show in the scatter of the residuals, and lasts over many frames. So some frames,
// those at rest among them, are matched again with a reference taken late in the flight, before another background and with
// another blur. How far both differ about the way from rest is what either may be off by: as much as its part of the
// difference, 1/sqrt(2) of it.

const (
	opinions     = 40 // frames matched again
	lateFrames   = 8  // that are averaged for it, a quarter of those in motion
	fewestLate   = 2  // at least
	leastOpinion = 3  // at rest and in motion
	// doubtFrom is how far the vehicle must have moved, px, for another reference to tell
	// something: what lies behind an edge is another thing after about the width of that edge, and
	// before it is the same as at rest.
	doubtFrom = 2.0
	// doubtNear is how far off rest, px, the difference is that of rest as well: there the vehicle looks and is
	// lit as later in flight, and what lies behind it is nearly what lay there at rest.
	doubtNear = 24.0
	// Differences cross zero where errors do not, so what they show is their root mean square over the
	// differences around, by a normal weight of standard deviation doubtOver of all, and half that of all at least.
	doubtOver  = 0.1
	doubtLeast = 0.5
)

// What a second reference usually shows, px: logarithmically normal of this median and this spread of the
// logarithm (40 drawn clips of bench/plans, development seeds 4100 to 4123).
const (
	usualDoubt  = 0.023
	doubtSpread = 1.5
)

// Usual is what traces usually state of the errors that neighbouring frames share, px off rest, and of those
// that all frames at rest share, for footage not filmed yet: z is which of them, a standard normal quantile.
// How large it is nothing tells beforehand. rest is what the way of recording leaves at rest.
func Usual(z, rest float64) (doubt, restU float64) {
	shown := usualDoubt * math.Exp(doubtSpread*z)
	return math.Hypot(leftOver*math.Sqrt(1-phaseShare*phaseShare), shown), math.Hypot(rest, shown)
}

// Farther is the share of it that a point so far off rest has, px.
func Farther(way float64) float64 { return min(1, math.Abs(way)/doubtFrom) }

// lateAt is where the second reference is taken, as shares of the frames in motion: the first at which it is found again at rest.
var lateAt = [...]float64{0.7, 0.4, 0.2}

// weighDoubt sets r.doubt, the standard uncertainty of each sighting along the flight line that a second reference shows,
// and r.restDoubt, that of all frames at rest together.
func (r *refiner) weighDoubt() {
	r.doubt = make([]float64, len(r.sights))
	moving := slices.DeleteFunc(r.inMotion(len(r.sights)), func(i int) bool { return !r.matches[i].OK })
	rest := slices.DeleteFunc(slices.Clone(r.rest), func(i int) bool { return !r.matches[i].OK })
	defer r.startAgain(moving)
	late := min(max(fewestLate, len(moving)/4), lateFrames)
	if len(moving) < 2*late || len(rest) < leastOpinion {
		return
	}
	for _, share := range lateAt {
		from := min(int(share*float64(len(moving))), len(moving)-late)
		if late, ok := r.latePatch(moving[from : from+late]); ok && r.compare(late, rest, moving) {
			return
		}
	}
}

// compare sets r.doubt and r.restDoubt from how far another reference disagrees about the way from rest. It reports false where
// that one is not found at rest and in motion.
func (r *refiner) compare(other *register.Patch, rest, moving []int) bool {
	rest = thinned(rest, opinions/4)
	idx := append(slices.Clone(rest), thinned(moving, opinions)...)
	var still, at, way, by []float64
	for k, v := range r.differences(other, idx) {
		switch {
		case math.IsNaN(v):
		case k < len(rest):
			still = append(still, v)
		default:
			at, way, by = append(at, r.sights[idx[k]].t), append(way, math.Abs(r.along(idx[k]))), append(by, v)
		}
	}
	if len(still) < leastOpinion || len(at) < leastOpinion {
		return false
	}
	zero := fit.Median(still)
	for k := range by {
		by[k] = (by[k] - zero) / math.Sqrt2
	}
	r.restDoubt = nearRest(way, by)
	size := around(by)
	for i := rest[len(rest)-1] + 1; i < len(r.sights); i++ {
		r.doubt[i] = between(at, size, r.sights[i].t) * Farther(r.along(i))
	}
	return true
}

// nearRest is the root mean square of the differences not far off rest, which frames at rest have together; that of the
// first that is off where none is so near.
func nearRest(way, by []float64) float64 {
	var sum, n float64
	for k, v := range by {
		if way[k] >= doubtFrom && (way[k] <= doubtNear || n == 0) {
			sum, n = sum+v*v, n+1
		}
	}
	return math.Sqrt(sum / max(1, n))
}

// around is the root mean square of the differences around each of some, evenly spaced.
func around(by []float64) []float64 {
	all := 0.0
	for _, v := range by {
		all += v * v / float64(len(by))
	}
	out := make([]float64, len(by))
	for k := range out {
		var sum, weight float64
		for j, v := range by {
			z := float64(j-k) / (doubtOver * float64(len(by)))
			w := math.Exp(-z * z / 2)
			sum, weight = sum+w*v*v, weight+w
		}
		out[k] = math.Sqrt(max(sum/weight, doubtLeast*doubtLeast*all))
	}
	return out
}

// addDoubt states it in the points, beside what shape and background leave (leftOver).
func (r *refiner) addDoubt(points []Point) {
	if r.doubt == nil {
		return
	}
	by := map[int]float64{}
	for i := range r.sights {
		by[r.sights[i].frame] = r.doubt[i]
	}
	for i := range points {
		if q := &points[i]; by[q.Frame] > 0 {
			q.UDoubt = math.Hypot(q.UDoubt, by[q.Frame])
			q.Across = math.Hypot(q.Across, by[q.Frame])
		}
	}
}

// thinned picks up to n of idx, evenly.
func thinned(idx []int, n int) []int {
	if len(idx) <= n {
		return slices.Clone(idx)
	}
	out := make([]int, n)
	for k := range out {
		out[k] = idx[k*len(idx)/n]
	}
	return out
}

// between interpolates linearly, and continues the ends.
func between(at, v []float64, t float64) float64 {
	k, _ := slices.BinarySearch(at, t)
	switch {
	case k == 0:
		return v[0]
	case k == len(at):
		return v[k-1]
	}
	f := (t - at[k-1]) / (at[k] - at[k-1])
	return v[k-1] + f*(v[k]-v[k-1])
}

// latePatch averages the frames idx, each as it was matched, in the reference's gain and geometry.
func (r *refiner) latePatch(idx []int) (*register.Patch, bool) {
	W, H := r.patchW+2*register.Margin, r.patchH+2*register.Margin
	parts := make([][]float32, len(idx))
	register.Parallel(len(idx), r.workers, r.basis, func(s *register.Scratch, k int) {
		i := idx[k]
		w, m := r.load(s, i), &r.matches[i]
		if m.G <= 0 {
			return
		}
		out := make([]float32, W*H)
		for p := range out {
			u, v := float64(p%W)-float64(W-1)/2, float64(p/W)-float64(H-1)/2
			x := min(max(w.X+w.A*u-w.B*v, 2), float64(s.Window.W)-4.01)
			y := min(max(w.Y+w.B*u+w.A*v, 2), float64(s.Window.H)-4.01)
			out[p] = (s.Window.At(float32(x), float32(y)) - float32(m.O)) / float32(m.G)
		}
		parts[k] = out
	})
	late := *r.patch
	late.Beta, late.B0, late.Pix = nil, nil, make([]float32, W*H)
	n := 0
	for _, p := range parts {
		if p != nil {
			n++
			for k, v := range p {
				late.Pix[k] += v
			}
		}
	}
	for k := range late.Pix {
		late.Pix[k] /= float32(max(1, n))
	}
	return &late, 2*n > len(idx)
}

// differences returns by how much the places of the sightings idx lie farther along the flight line than another reference
// puts them, px; NaN where that finds none.
func (r *refiner) differences(other *register.Patch, idx []int) []float64 {
	out := make([]float64, len(idx))
	m, ok := other.Matcher(r.basis, 0, 0)
	register.Parallel(len(idx), r.workers, r.basis, func(s *register.Scratch, k int) {
		out[k] = math.NaN()
		if !ok {
			return
		}
		i := idx[k]
		got := r.match(s, m, i)
		if got.OK && got.Quality > register.LeastMatch && math.Hypot(got.X-r.warps[i].X, got.Y-r.warps[i].Y) < r.reach {
			out[k] = (r.warps[i].X-got.X)*r.line.Ux + (r.warps[i].Y-got.Y)*r.line.Uy
		}
	})
	return out
}
