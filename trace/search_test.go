package trace

import (
	"math"
	"testing"

	"padside/footage"
)

// A thin vehicle in a wide patch: only what lies between the pixels of the coarse grid has a
// weight.
func TestSearcherComparesWhatHasAWeight(t *testing.T) {
	const side = 60 // px: of 3600 pixels every third in either direction is compared, from 1 on
	pix, weight := make([]float32, side*side), make([]float32, side*side)
	for k := range pix {
		pix[k] = float32(k % 7)
		if k%side == 30 {
			weight[k] = 1
		}
	}
	s := newSearcher(pix, weight, side, side, mostSought)
	if len(s.t) < leastSought || s.blind() {
		t.Errorf("%d of %d pixels with a weight are compared, want at least %d", len(s.t), side, leastSought)
	}
}

// A reference without contrast is found nowhere, and the fresh one is still looked for: in front of
// a picture at rest too.
func TestSeekWithABlindReference(t *testing.T) {
	const w, h, side = 60, 50, 8
	pic := &footage.Luma{Width: w, Height: h, Depth: 8, Pix8: make([]uint8, w*h)}
	rest := &footage.Luma{Width: w, Height: h, Depth: 8, Pix8: make([]uint8, w*h)}
	ones, flat, looks := make([]float32, side*side), make([]float32, side*side), make([]float32, side*side)
	for k := range ones {
		ones[k], looks[k] = 1, float32(20*((k/side+k%side)%5))
		pic.Pix8[(20+k/side)*w+40+k%side] = uint8(looks[k])
	}
	l := &lane{patch: area{4, 4, side, side}, first: newSearcher(flat, ones, side, side, mostSought), fresh: newSearcher(looks, ones, side, side, mostSought),
		ground: stillOf(rest, 1), sights: []sighting{{x: 7.5, y: 7.5}}, gain: 1, camera: func(int, float64, float64) (float64, float64) { return 0, 0 }}
	if got := l.seek(pic, area{0, 0, w, h}, 1, nil); math.Hypot(got.x-40, got.y-20) > 0.5 {
		t.Errorf("found at (%g, %g), want (40, 20)", got.x, got.y)
	}
}
