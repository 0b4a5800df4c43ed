package trace

import (
	"math"
	"testing"

	"padside/camera"
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
			at := area{w: w, h: h}.grown(margin + cropSlack)
			piece := crop{area: area{w: at.w, h: at.h}, grey: 1.0 / 256, pix16: make([]uint16, at.w*at.h)}
			for k := range piece.pix16 {
				x, y := float64(k%at.w), float64(k/at.w)
				piece.pix16[k] = uint16(256 * (c.paint(y) + 10*math.Sin(x/3)))
			}
			cx, cy := float64(at.w-1)/2, float64(at.h-1)/2
			r := &refiner{basis: newBasis(), workers: 1, patchW: w, patchH: h, line: camera.FlightLine{Uy: -1}, doubt: make([]float64, n), blur: make([]int, n), sharper: make([]float64, n)}
			var idx []int
			for i := range n {
				r.sights = append(r.sights, sighting{frame: i, t: float64(i), crop: piece})
				r.warps = append(r.warps, warp{X: cx, Y: cy, A: 1})
				r.matches = append(r.matches, match{warp: r.warps[i], quality: 1, ok: true})
				idx = append(idx, i)
			}
			r.weight = flat(w * h)
			r.patch = &patch{w: w, h: h, weight: r.weight, pix: r.resample([]int{0}, r.warps[:1])}
			r.startAgain(idx)
			if r.torn != c.torn || (r.doubt[n/2] > 1) != c.torn {
				t.Errorf("torn %v, doubt %.2f px; want torn %v", r.torn, r.doubt[n/2], c.torn)
			}
		})
	}
}
