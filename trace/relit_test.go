package trace

import (
	"math"
	"testing"

	"padside/register"
)

// Under lamps a copy is the last frame times a weight, rounded. It is no less a copy; what moved in
// it is still seen.
func TestCopiesInOtherLight(t *testing.T) {
	const w, h = 40, 60
	picture := func(gain, offset float64, shift int) *crop {
		pix := make([]uint8, w*h)
		for i := range pix {
			y := float64(i/w + shift)
			pix[i] = uint8(math.Round(gain*(110+40*math.Sin(y/2)+float64(i%w)) + offset))
		}
		return &crop{Area: register.Area{X: 0, Y: 0, W: w, H: h}, pix8: pix, grey: 1}
	}
	old := picture(1, 0, 0)
	for _, c := range []struct {
		name        string
		now         *crop
		equal, anew [2]float64 // least and most
	}{
		{"the same", picture(1, 0, 0), [2]float64{1, 1}, [2]float64{0, 0}},
		{"a third less light", picture(0.67, 0, 0), [2]float64{1, 1}, [2]float64{0, 0}},
		{"more light and a veil", picture(1.2, 6, 0), [2]float64{1, 1}, [2]float64{0, 0}},
		{"a third less light, a pixel on", picture(0.67, 0, 1), [2]float64{0, 0.4}, [2]float64{0.9, 1}},
	} {
		if got := equalShare(old, c.now, 32, 32); got < c.equal[0] || got > c.equal[1] {
			t.Errorf("%s: %.2f are copies, want %g to %g", c.name, got, c.equal[0], c.equal[1])
		}
		if got := renewedShare(old, c.now, 32, 32, 'y'); got < c.anew[0] || got > c.anew[1] {
			t.Errorf("%s: %.2f coded anew, want %g to %g", c.name, got, c.anew[0], c.anew[1])
		}
	}
}
