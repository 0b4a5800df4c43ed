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
	part := g.block(pic)
	f.parallel(g.rows, func(_ *register.Scratch, r int) {
		s := g.s0 + float64(r)*g.step
		x, y := g.x+s*g.ux, g.y+s*g.uy
		dx, dy := camera(x, y)
		for c := range g.cols {
			a := (float64(c) - float64(g.cols-1)/2) * g.pitch()
			out[r*g.cols+c] = part.mean(pic, x-a*g.uy+dx, y+a*g.ux+dy)
		}
	})
	return out
}

// block is the pixels that make up a column's part of a row.
type block struct {
	subs     [][2]float64 // places whose nearest pixels they are, px from its middle
	at       []int        // the same from the first one on, in the picture's samples; nil where they are not a pixel apart
	min, max [2]int       // what they reach from the first, px
}

// block is one pixel for each px of a part.
func (g *lattice) block(pic *footage.Luma) *block {
	along, across := max(1, int(math.Round(g.step))), max(1, int(math.Round(g.pitch())))
	b := &block{}
	whole := g.step == float64(along) && g.pitch() == float64(across)
	for k := range along * across {
		ds := (float64(k/across) - float64(along-1)/2) * g.step / float64(along)
		da := (float64(k%across) - float64(across-1)/2) * g.pitch() / float64(across)
		b.subs = append(b.subs, [2]float64{ds*g.ux - da*g.uy, ds*g.uy + da*g.ux})
		if whole {
			dx, dy := int(math.Round(b.subs[k][0]-b.subs[0][0])), int(math.Round(b.subs[k][1]-b.subs[0][1]))
			b.at = append(b.at, dy*pic.Width+dx)
			b.min, b.max = [2]int{min(b.min[0], dx), min(b.min[1], dy)}, [2]int{max(b.max[0], dx), max(b.max[1], dy)}
		}
	}
	return b
}

// mean is the mean of the block about (x, y), NaN where less than half of it is in the picture. One
// pixel alone is not the nearest but interpolated.
func (b *block) mean(pic *footage.Luma, x, y float64) float32 {
	if len(b.subs) == 1 {
		return lightAt(pic, x, y)
	}
	px, py := int(math.Floor(x+b.subs[0][0]+0.5)), int(math.Floor(y+b.subs[0][1]+0.5))
	if b.at == nil || px+b.min[0] < 0 || py+b.min[1] < 0 || px+b.max[0] >= pic.Width || py+b.max[1] >= pic.Height {
		return b.seen(pic, x, y)
	}
	k, sum := py*pic.Width+px, 0
	if pic.Pix8 != nil {
		for _, d := range b.at {
			sum += int(pic.Pix8[k+d])
		}
	} else {
		for _, d := range b.at {
			sum += int(pic.Pix16[k+d])
		}
	}
	return float32(sum) * register.Grey(pic) / float32(len(b.at))
}

// seen is the same pixel by pixel, of those in the picture.
func (b *block) seen(pic *footage.Luma, x, y float64) float32 {
	var sum float32
	n := 0
	for _, d := range b.subs {
		px, py := int(math.Floor(x+d[0]+0.5)), int(math.Floor(y+d[1]+0.5))
		if px >= 0 && py >= 0 && px < pic.Width && py < pic.Height {
			sum, n = sum+register.Level(pic, px, py), n+1
		}
	}
	if 2*n < len(b.subs) {
		return float32(math.NaN())
	}
	return sum / float32(n)
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
