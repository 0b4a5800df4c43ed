package trace

import "math"

// Compression between frames. A codec that predicts a frame from the one before it copies what has hardly changed, moves blocks by
// quarters of a pixel, and leaves out differences that are cheap to leave out. A vehicle at rest is then the same picture again and
// again: its places scatter by nothing, and that is no measurement of how well they are known. When it begins to move, it lags and
// jumps by up to an eighth of a pixel. None of that shows in the residuals of the match.

const (
	// copyShare is the share of samples equal to the frame before from which a patch counts as copied. Two pictures with noise of half a level, less
	// than any camera's at a useful gain, share 0.52 (the chance that two rounded normal numbers agree, derived).
	copyShare = 0.7
	// copiesTell is the share of frames at rest that are copies from which the footage counts as compressed that way.
	copiesTell = 0.5
	// codedU is the standard uncertainty, px, that such a codec adds to every place, at rest too, where copies repeat one error. A place
	// rounded to the quarters of a pixel in which motion vectors are coded (ITU-T H.264, 8.4.2.2) errs by 0.072; what else is coded
	// mends some of that: on drawn bottle rockets at a rate factor of 16 it is 0.05 (bench/accuracy, seeds 700 and 701).
	codedU = 0.05
)

// The camera held still. Background that hardly changes is copied too, so that the camera's small movements are not seen there, while the vehicle, once it
// moves, is coded anew and shows them: it errs by how the camera has moved since the picture of the rest was coded. That lasts, and is common to
// the first frames in motion (drawn motor rockets, camera moved by 0.05 to 0.3 px: the slow part of the errors follows the camera's true movement
// with a correlation of 0.6 to 0.8; bench/finder -points).
const (
	// heldMost is the standard uncertainty, px, of that after a long rest: 0.05 and 0.06 root mean square on 28 such takes. More is
	// a difference that is coded.
	heldMost = 0.06
	// heldTime is within what time, s, a camera on a tripod or in a hand moves so far (common practice, no source): in the 0.01 to 0.05 s of
	// rest before a bottle rocket filmed at 1600 a second little happens.
	heldTime = 0.1
	// heldLeast is what one coded picture of the rest errs by itself: 0.02 on six bottle rockets, camera fixed.
	heldLeast = 0.015
)

// heldU is that standard uncertainty for the rest that was kept.
func (r *refiner) heldU() float64 {
	first, last := &r.sights[r.rest[0]], &r.sights[r.rest[len(r.rest)-1]]
	return math.Hypot(heldLeast, heldMost*(1-math.Exp(-(last.t-first.t)/heldTime)))
}

// Frames between. A frame predicted from both sides is, where little changes, the mean of the two: a vehicle that speeds up by a px per frame squared is
// seen there a dt² ahead of itself, as no residual shows. On 19 drawn motor rockets the places of such frames are 0.05 px ahead, on the mean, from 0.1 to 2 px off
// rest, those of the others within 0.01 of the truth; farther on such an error is coded away (bench/finder -points). Near first motion these frames say next to
// nothing that their neighbours do not.
const (
	mixedLeast = 0.1  // px off rest: nearer, it is at rest, or hides in its copies
	mixedReach = 3.0  // px off rest
	mixedGain  = 0.5  // px, of the second difference of the way: a larger one is coded
	mixedU     = 0.15 // px: three times the error, so that they hardly count
)

// leads reports whether sighting i is such a frame.
func (r *refiner) leads(i int) bool {
	way := math.Abs(r.along(i))
	if !r.mixed[r.sights[i].frame] || way < mixedLeast || way > mixedReach || i+1 == len(r.sights) {
		return false
	}
	return math.Abs(r.along(i+1)-2*r.along(i)+r.along(max(i-1, 0))) < mixedGain
}

// mixedFrames lists the frames predicted from both sides; nil where that is not known.
func mixedFrames(src Source) map[int]bool {
	b, ok := src.(interface{ Between() []int })
	if !ok {
		return nil
	}
	out := map[int]bool{}
	for _, i := range b.Between() {
		out[i] = true
	}
	return out
}

// codedBetween reports whether most frames of the footage are coded as what differs from others.
func codedBetween(src Source) bool {
	k, ok := src.(interface{ KeyFrames() []int })
	if !ok {
		return false
	}
	keys := len(k.KeyFrames())
	return keys > 0 && 2*keys < src.Len()
}

// copied reports for each sighting whether its patch is a copy of the one before.
func (r *refiner) copied() []bool {
	out := make([]bool, len(r.sights))
	for i := 1; i < len(out); i++ {
		a, b := &r.sights[i-1], &r.sights[i]
		if b.frame == a.frame+1 {
			out[i] = equalShare(&a.crop, &b.crop, r.patchW, r.patchH) > copyShare
		}
	}
	return out
}

// equalShare is the share of samples that two crops have in common at the same places of the picture, within a patch's size about the
// first one's middle; 0 where they hardly overlap.
func equalShare(a, b *crop, w, h int) float64 {
	if a.w == 0 || b.w == 0 {
		return 0
	}
	mid := area{a.x + (a.w-w)/2, a.y + (a.h-h)/2, w, h}.clip(a.area).clip(b.area)
	if 2*mid.w*mid.h < w*h {
		return 0
	}
	same := 0
	for y := mid.y; y < mid.y+mid.h; y++ {
		for x := mid.x; x < mid.x+mid.w; x++ {
			if a.at(x-a.x, y-a.y) == b.at(x-b.x, y-b.y) {
				same++
			}
		}
	}
	return float64(same) / float64(mid.w*mid.h)
}

// compressed reports whether most frames at rest are copies.
func (r *refiner) compressed(copied []bool) bool {
	n, of := 0, 0
	for _, i := range r.rest {
		if i == 0 {
			continue
		}
		of++
		if copied[i] {
			n++
		}
	}
	return of >= 3 && float64(n) > copiesTell*float64(of)
}
