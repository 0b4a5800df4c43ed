package register

import "math"

// Shift measures by how much what a reference shows has moved in a picture, both w by h pixels, row
// by row, with a Matcher of the place alone: translation with free gain and offset. guessX, guessY
// is where to start (px, good to about two). The outer margin of 16 px of the reference is not
// matched, so that the shift may be as large; w and h must exceed 40. It returns the shift and its
// standard uncertainties (px), and false where no match was found.
//
// Bias below 0.001 px for pictures without aliasing, noise at the Cramer-Rao bound
// (bench/subpixel).
func Shift(reference, picture []float32, w, h int, guessX, guessY float64) (dx, dy, ux, uy float64, ok bool) {
	const edge = 16
	if w <= 40 || h <= 40 || len(reference) != w*h || len(picture) != w*h {
		return 0, 0, 0, 0, false
	}
	b := NewBasis()
	p := &Patch{W: w - 2*edge, H: h - 2*edge, Weight: Flat((w - 2*edge) * (h - 2*edge))}
	for y := edge - Margin; y < h-edge+Margin; y++ {
		p.Pix = append(p.Pix, reference[y*w+edge-Margin:y*w+w-edge+Margin]...)
	}
	m, good := p.Matcher(b, 0, 0)
	if !good {
		return 0, 0, 0, 0, false
	}
	s := NewScratch(b)
	s.Set(picture, w, h)
	cx, cy := float64(w-1)/2, float64(h-1)/2
	got := m.Register(s, Warp{X: cx + guessX, Y: cy + guessY, A: 1})
	return got.X - cx, got.Y - cy, math.Sqrt(got.Cov[0][0]), math.Sqrt(got.Cov[1][1]), got.OK
}
