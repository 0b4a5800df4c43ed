package trace

import (
	"math"
	"slices"

	"padside/register"
)

// The exposure by the pictures. What moves is drawn out over speed times exposure. Of the frames in motion each says how long it is drawn out: the reference is matched
// to it drawn out by several lengths, place, gain and offset anew each time, and the mean square of what is left, a parabola in the square of the length, is least at one. That
// square grows with the square of the speed. Whatever else softens moving pictures, a codec above all, softens them at any speed: a constant beside.

// Exposure is how long one frame was exposed, s.
type Exposure struct {
	Value, U    float64 // standard uncertainty; 0 where it is stated
	Least, Most float64 // bounds that hold it 95 times in 100
	Given       bool    // it was stated
	Seen        bool    // the pictures tell it; where neither is, it is anything from nothing to the frame interval
	Contrary    bool    // it was stated, and the pictures exclude that: the bounds hold both
}

const (
	exposureFrames = 32 // in motion that are asked
	statedFrames   = 12 // where it is stated
	leastExposed   = 4  // that must answer
	// leastDrawn is the way in one frame interval, px, from which on an unknown exposure may show.
	leastDrawn = 3.0
	// clearBlur is the longest blur, px, that a patch's margin holds: of longer ones its ends know not what moves in.
	clearBlur = 2 * register.Margin
	// softening is the standard uncertainty of the square of the length, px^2, by which moving pictures are softer at any speed.
	softening = 1.5
	// blurDoubt and blurShare are the standard uncertainty of a length of blur, px and of itself, that all frames have together: the reference is not the vehicle, gain is not light.
	blurDoubt, blurShare = 0.25, 0.03
	// patchDoubt is how many times as much it is where a patch tells it, in whose edges the background shows, and not the barrel.
	patchDoubt = 3.0
)

// brackets are how far to either side of the length of blur expected, px, two others are tried: what is left is a parabola only near the least.
var brackets = [...]float64{2, 1, 1}

// unknownExposure is what is known of an exposure before any picture is looked at: up to most, rectangular.
func unknownExposure(most float64) Exposure {
	return Exposure{Value: most / 2, U: most / math.Sqrt(12), Most: most}
}

const (
	// contrary is how many standard uncertainties what is stated and what is seen must lie apart to exclude each other,
	contrary = 5
	// leastContrary is by how much the frame drawn out most must then be longer or shorter, px.
	leastContrary = 2.0
)

// settleExposure works out by how much moving pictures are drawn out: by what is stated unless the pictures exclude it, else by what they tell. It reports whether that
// is something else than before.
func (r *refiner) settleExposure() bool {
	seen := r.seeExposure(!r.shown.Given)
	if !r.shown.Given {
		r.shown = seen
		if !seen.Seen {
			return false // followed with what looked best
		}
		r.exposure = seen.Value
		return true
	}
	stated := r.shown.Value
	if !seen.Seen || stated >= seen.Least && stated <= seen.Most {
		return false
	}
	seen = r.seeExposure(true)
	apart := math.Abs(stated - seen.Value)
	if !seen.Seen || apart < contrary*seen.U || apart*r.fastest() < leastContrary {
		return false
	}
	r.exposure = seen.Value
	r.shown = seen
	r.shown.Given, r.shown.Contrary = true, true
	r.shown.Least, r.shown.Most = min(seen.Least, stated), max(seen.Most, stated)
	r.shown.U = max(seen.U, apart)
	return true
}

// blurAnew matches with the exposure settled. What is then no longer found keeps the place it had.
func (r *refiner) blurAnew() bool {
	r.measureBlur()
	before := slices.Clone(r.matches)
	ok := r.register(4)
	for i, m := range before {
		if m.OK && !r.matches[i].OK {
			r.matches[i], r.warps[i] = m, m.Warp
		}
	}
	return ok
}

// fastest is the largest speed matched, px/s.
func (r *refiner) fastest() (v float64) {
	for i := range r.sights {
		if r.matches[i].OK {
			v = max(v, r.speed(i))
		}
	}
	return v
}

// exposureOff is by how much longer the exposure may be than what pictures are matched with, s, as a standard uncertainty; 0 where it is stated. Where the pictures do not tell it,
// they are matched with little or none.
func (r *refiner) exposureOff() float64 {
	switch {
	case r.shown.Seen:
		return r.shown.U
	case r.shown.Given || r.most <= 0:
		return 0
	}
	return min(r.most/math.Sqrt(3), leastDrawn/max(1e-9, r.fastest()))
}

// exposureDoubt adds to r.doubt by how much each place would lie elsewhere if the exposure were longer by what it may be off by: pictures drawn out by too little or too much
// lie off by what their pattern is not symmetric by. Neighbouring frames have it together.
func (r *refiner) exposureDoubt() {
	by := r.exposureOff()
	if by == 0 {
		return
	}
	idx := thinned(slices.DeleteFunc(r.inMotion(len(r.sights)), func(i int) bool { return !r.matches[i].OK }), opinions)
	if len(idx) < leastSamples {
		return
	}
	if r.doubt == nil {
		r.doubt = make([]float64, len(r.sights))
	}
	kept := slices.Clone(r.blur)
	for _, i := range idx {
		r.blur[i] = r.blurOf(i, r.exposure+by)
	}
	ms := r.matchers(idx, 4)
	off, times := make([]float64, len(idx)), make([]float64, len(idx))
	register.Parallel(len(idx), r.workers, r.basis, func(s *register.Scratch, k int) {
		i := idx[k]
		if m := r.match(s, ms[r.blur[i]], i); m.OK && math.Hypot(m.X-r.warps[i].X, m.Y-r.warps[i].Y) < r.reach {
			off[k] = math.Abs((m.X-r.warps[i].X)*r.line.Ux + (m.Y-r.warps[i].Y)*r.line.Uy)
		}
		times[k] = r.sights[i].t
	})
	r.blur = kept
	for i := idx[0]; i < len(r.sights); i++ {
		r.doubt[i] = math.Hypot(r.doubt[i], between(times, off, r.sights[i].t))
	}
}

// guessExposure finds the exposure with which the fastest frames look most like the reference drawn out by it, among a few.
func (r *refiner) guessExposure() {
	idx := r.exposed(func(i int) bool { return r.sights[i].crop.W > 0 })
	if len(idx) == 0 {
		return
	}
	r.exposure = r.scanExposure(idx, r.leftBy)
}

// exposed picks sightings in motion that may tell the exposure.
func (r *refiner) exposed(fit func(i int) bool) []int {
	if r.most <= 0 {
		return nil
	}
	var idx []int
	fastest := 0.0
	for i := range r.sights {
		if q := math.Sqrt(r.quicker(i)); fit(i) && q*r.most > leastDrawn/2 {
			idx, fastest = append(idx, i), max(fastest, q)
		}
	}
	if len(idx) < leastExposed || fastest*r.most < leastDrawn {
		return nil
	}
	return thinned(idx, exposureFrames)
}

// seeExposure works out what the frames matched tell of the exposure: all, by the barrel where there is one, or a few by the patch, only to find what is far off.
func (r *refiner) seeExposure(thorough bool) Exposure {
	out := unknownExposure(r.most)
	idx := r.exposed(func(i int) bool { return r.matches[i].OK && r.source(i) == SourceFollowed })
	if len(idx) == 0 {
		return out
	}
	remain, doubt := r.leftBy, patchDoubt
	if !thorough {
		idx = thinned(idx, statedFrames)
	} else if b := r.barrelOf(thinned(idx, rulerFrames)); b != nil {
		remain = func(idx []int, blur func(i int) int) []float64 { return b.leftBy(r, idx, blur) }
		doubt = 1
	}
	steps := brackets[:]
	if !thorough {
		steps = steps[:1]
	}
	at := r.scanExposure(idx, remain)
	for _, wide := range steps {
		seen := r.drawnOut(idx, at, wide, remain)
		if len(seen) < leastExposed {
			return out
		}
		out = exposureOf(seen, r.most, doubt)
		at = out.Value
	}
	return out
}
