package trace

import (
	"math"
	"testing"

	"padside/camera"
	"padside/register"
)

// Paint whose bands look like their neighbours is matched at another place from another start, and that is seen; one edge is not.
func TestStartAgain(t *testing.T) {
	const w, h, n = 20, 30, 12
	for _, c := range []struct {
		name  string
		paint func(y float64) float64
		torn  bool
	}{
		{"bands 3.2 px apart", func(y float64) float64 { return 120 + 60*math.Sin(2*math.Pi*y/3.2) }, true},
		{"one edge", func(y float64) float64 { return 120 + 60*math.Tanh((y-40)/2) }, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			at := register.Area{W: w, H: h}.Grown(register.Margin + cropSlack)
			piece := crop{Area: register.Area{W: at.W, H: at.H}, grey: 1.0 / 256, pix16: make([]uint16, at.W*at.H)}
			for k := range piece.pix16 {
				x, y := float64(k%at.W), float64(k/at.W)
				piece.pix16[k] = uint16(256 * (c.paint(y) + 10*math.Sin(x/3)))
			}
			cx, cy := float64(at.W-1)/2, float64(at.H-1)/2
			r := &refiner{basis: register.NewBasis(), workers: 1, patchW: w, patchH: h, line: camera.FlightLine{Uy: -1}, doubt: make([]float64, n), blur: make([]int, n), sharper: make([]float64, n)}
			var idx []int
			for i := range n {
				r.sights = append(r.sights, sighting{frame: i, t: float64(i), crop: piece})
				r.warps = append(r.warps, register.Warp{X: cx, Y: cy, A: 1})
				r.matches = append(r.matches, register.Match{Warp: r.warps[i], Quality: 1, OK: true})
				idx = append(idx, i)
			}
			r.weight = register.Flat(w * h)
			r.patch = &register.Patch{W: w, H: h, Weight: r.weight, Pix: r.resample([]int{0}, r.warps[:1])}
			r.startAgain(idx)
			if r.torn != c.torn || (r.doubt[n/2] > 1) != c.torn {
				t.Errorf("torn %v, doubt %.2f px; want torn %v", r.torn, r.doubt[n/2], c.torn)
			}
		})
	}
}
