package trace

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
