package stabilise

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestTurnInPlace: a camera that rolls where it stands, its middle moved by less than a pixel, is
// seen to roll; patches that scatter by noise, or of which one moves by itself, turn nothing.
func TestTurnInPlace(t *testing.T) {
	t.Parallel()
	const w, h, most = 480, 640, 0.15 // px, at a corner
	for _, c := range []struct {
		name              string
		roll, noise, sway float64 // rad, px, px
	}{{"rolls", 0.006, 0.02, 0}, {"is fixed", 0, 0.02, 0}, {"is fixed before a tree", 0, 0.02, 3}} {
		var worst float64
		for seed := range uint64(40) {
			r := rand.New(rand.NewPCG(seed, 9))
			b := &Background{width: w, height: h}
			want := motion{pan: 0.3, tilt: -0.2, roll: c.roll, mx: (w - 1) / 2., my: (h - 1) / 2.}
			var rs []reading
			for k := range 8 {
				// spread over the picture, as patches are chosen
				x, y := (float64(k%2)+r.Float64())*w/2, (float64(k/2)+r.Float64())*h/4
				dx, dy := want.at(x, y)
				rs = append(rs, reading{x: x, y: y, dx: dx + c.noise*r.NormFloat64(), dy: dy + c.noise*r.NormFloat64(), u: c.noise})
			}
			rs[3].dx += c.sway
			got := b.combine(rs)
			x, y := got.at(20, 20)
			ex, ey := want.at(20, 20)
			worst = max(worst, math.Hypot(x-ex, y-ey))
		}
		if worst > most {
			t.Errorf("a camera that %s is seen elsewhere by up to %.2f px", c.name, worst)
		}
	}
}
