package trace

import (
	"math"
	"testing"

	"padside/footage"
	"padside/register"
)

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
	l := &lane{patch: register.Area{X: 4, Y: 4, W: side, H: side}, first: register.NewSearcher(flat, ones, side, side, register.MostSought), fresh: register.NewSearcher(looks, ones, side, side, register.MostSought),
		ground: stillOf(rest, 1), sights: []sighting{{x: 7.5, y: 7.5}}, gain: 1, camera: func(int, float64, float64) (float64, float64) { return 0, 0 }}
	if got := l.seek(pic, register.Area{X: 0, Y: 0, W: w, H: h}, 1, nil); math.Hypot(got.X-40, got.Y-20) > 0.5 {
		t.Errorf("found at (%g, %g), want (40, 20)", got.X, got.Y)
	}
}
