package trace

import (
	"math"

	"padside/footage"
	"padside/register"
)

// changes tells where two pictures differ: sums over the top left rectangle, every second pixel of every second row.
type changes struct {
	w, h int
	sum  []int32 // (w+1) by (h+1)
}

// changeCell is the side, px, of the cells in which the camera's movement is taken as one.
const changeCell = 32

// changesOf compares b, in which what is at (x, y) in a is seen shifted by moved(x, y), with a. A pixel
// differs by more than limit and, where the camera moved, by more than a pixel's misplacement makes.
func changesOf(a, b *footage.Luma, limit float64, moved func(x, y float64) (dx, dy float64)) *changes {
	c := &changes{w: a.Width / 2, h: a.Height / 2}
	differs := make([]bool, c.w*c.h)
	for y0 := 2; y0 < a.Height-2; y0 += changeCell {
		for x0 := 2; x0 < a.Width-2; x0 += changeCell {
			dx, dy := moved(float64(x0+changeCell/2), float64(y0+changeCell/2))
			sx, sy := int(math.Round(dx)), int(math.Round(dy))
			slack := math.Hypot(dx, dy) > 0.1
			for y := y0; y < min(y0+changeCell, a.Height-2); y += 2 {
				for x := x0; x < min(x0+changeCell, a.Width-2); x += 2 {
					px, py := x+sx, y+sy
					if px < 0 || py < 0 || px >= b.Width || py >= b.Height {
						continue
					}
					d := math.Abs(float64(register.Level(a, x, y) - register.Level(b, px, py)))
					if d > limit && (!slack || d > limit+steep(a, x, y)) && y/2 < c.h && x/2 < c.w {
						differs[y/2*c.w+x/2] = true
					}
				}
			}
		}
	}
	c.sum = make([]int32, (c.w+1)*(c.h+1))
	for y := range c.h {
		var row int32
		for x := range c.w {
			if differs[y*c.w+x] {
				row++
			}
			c.sum[(y+1)*(c.w+1)+x+1] = c.sum[y*(c.w+1)+x+1] + row
		}
	}
	return c
}

// share is the share of an area that differs.
func (c *changes) share(r register.Area) float64 {
	x0, y0, x1, y1 := r.X/2, r.Y/2, min((r.X+r.W)/2, c.w), min((r.Y+r.H)/2, c.h)
	if x1 <= x0 || y1 <= y0 {
		return 0
	}
	w := c.w + 1
	n := c.sum[y1*w+x1] - c.sum[y0*w+x1] - c.sum[y1*w+x0] + c.sum[y0*w+x0]
	return float64(n) / float64((x1-x0)*(y1-y0))
}
