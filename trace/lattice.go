package trace

import (
	"math"

	"padside/footage"
	"padside/register"
)

// lattice is where the flight is read: rows step px apart along a line, from s0 px beyond the place
// (x, y) on, and columns in each of them, step/per px apart, the middle one on the line. Coordinates
// are px of the picture at rest, x to the right and y down; what lies to the left of the way has
// positive places across it.
type lattice struct {
	x, y, ux, uy float64 // a place on the line, and the unit vector along it
	step, s0     float64
	rows, cols   int
	per          int // columns of which each is a part of a square of step by step px
}

// pitch is how far apart, px, the columns are.
func (g *lattice) pitch() float64 { return g.step / float64(g.per) }

// lay lays a picture flat, with the camera's movement taken out row by row: the mean brightness at
// each place of g, row by row, NaN where less than half of it is seen.
func (f *follower) lay(g *lattice, pic *footage.Luma, camera func(x, y float64) (dx, dy float64)) []float32 {
	out := make([]float32, g.rows*g.cols)
	subs := g.subs()
	f.parallel(g.rows, func(_ *register.Scratch, r int) {
		s := g.s0 + float64(r)*g.step
		x, y := g.x+s*g.ux, g.y+s*g.uy
		dx, dy := camera(x, y)
		for c := range g.cols {
			a := (float64(c) - float64(g.cols-1)/2) * g.pitch()
			cx, cy := x-a*g.uy+dx, y+a*g.ux+dy
			if len(subs) == 1 {
				out[r*g.cols+c] = lightAt(pic, cx, cy)
			} else {
				out[r*g.cols+c] = meanAbout(pic, cx, cy, subs)
			}
		}
	})
	return out
}

// subs are the places whose nearest pixels make up a column's part of a row, px from its middle: one
// for each pixel of it. One alone is not the nearest pixel's but interpolated.
func (g *lattice) subs() [][2]float64 {
	along, across := max(1, int(math.Round(g.step))), max(1, int(math.Round(g.pitch())))
	var out [][2]float64
	for k := range along * across {
		ds := (float64(k/across) - float64(along-1)/2) * g.step / float64(along)
		da := (float64(k%across) - float64(across-1)/2) * g.pitch() / float64(across)
		out = append(out, [2]float64{ds*g.ux - da*g.uy, ds*g.uy + da*g.ux})
	}
	return out
}

// meanAbout is the mean of the pixels nearest to the places subs about (x, y); NaN where less than
// half of them are in the picture.
func meanAbout(pic *footage.Luma, x, y float64, subs [][2]float64) float32 {
	var sum float32
	seen := 0
	for i := range subs {
		px, py := int(math.Floor(x+subs[i][0]+0.5)), int(math.Floor(y+subs[i][1]+0.5))
		if px >= 0 && py >= 0 && px < pic.Width && py < pic.Height {
			if pic.Pix8 != nil {
				sum += float32(pic.Pix8[py*pic.Width+px])
			} else {
				sum += float32(pic.Pix16[py*pic.Width+px])
			}
			seen++
		}
	}
	if 2*seen < len(subs) {
		return float32(math.NaN())
	}
	return sum * register.Grey(pic) / float32(seen)
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
