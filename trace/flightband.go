package trace

import (
	"math"

	"padside/footage"
	"padside/register"
)

// bandOf lays one frame's band flat, with the camera's movement taken out row by row.
func (f *follower) bandOf(pic *footage.Luma, frame int, b *judgedBand) []float32 {
	l := b.layout
	out := make([]float32, l.Rows*l.Cols)
	f.parallel(l.Rows, func(_ *register.Scratch, r int) {
		s := l.S0 + float64(r)*l.Step
		x, y := b.x+s*b.ux, b.y+s*b.uy
		k := f.steady.At(frame, x, y)
		for c := range l.Cols {
			a := (float64(c) - float64(l.Cols-1)/2) * l.Step
			out[r*l.Cols+c] = b.cell(pic, x-a*b.uy+k.DX, y+a*b.ux+k.DY)
		}
	})
	return out
}

// cell is the mean of the picture over the square about (x, y); NaN where less than half of it is seen.
// Squares of a pixel are interpolated, larger ones are the mean of their nearest pixels.
func (b *judgedBand) cell(pic *footage.Luma, x, y float64) float32 {
	n := max(1, int(math.Round(b.layout.Step)))
	if n == 1 {
		return lightAt(pic, x, y)
	}
	sub := b.layout.Step / float64(n)
	var sum float32
	seen := 0
	for k := range n * n {
		ds, da := (float64(k/n)-float64(n-1)/2)*sub, (float64(k%n)-float64(n-1)/2)*sub
		px, py := int(math.Round(x+ds*b.ux-da*b.uy)), int(math.Round(y+ds*b.uy+da*b.ux))
		if px >= 0 && py >= 0 && px < pic.Width && py < pic.Height {
			sum += register.Level(pic, px, py)
			seen++
		}
	}
	if 2*seen < n*n {
		return float32(math.NaN())
	}
	return sum / float32(seen)
}

// lightAt is the picture between four pixels, by straight lines; NaN beyond its border.
func lightAt(pic *footage.Luma, x, y float64) float32 {
	ix, iy := int(math.Floor(x)), int(math.Floor(y))
	if ix < 0 || iy < 0 || ix+1 >= pic.Width || iy+1 >= pic.Height {
		return float32(math.NaN())
	}
	p, q := float32(x-float64(ix)), float32(y-float64(iy))
	row := func(y int) float32 {
		return (1-p)*register.Level(pic, ix, y) + p*register.Level(pic, ix+1, y)
	}
	return (1-q)*row(iy) + q*row(iy+1)
}
