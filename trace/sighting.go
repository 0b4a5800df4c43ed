package trace

import (
	"slices"

	"padside/footage"
	"padside/register"
)

// sighting is one frame's coarse place of a lane's patch, with the piece of the frame around it.
type sighting struct {
	frame   int
	t       float64 // s
	x, y    float64 // px, the patch's centre in the frame as filmed
	quality float64 // correlation
	crop    crop
	body    crop // the whole vehicle, where that is known and not too long; see barrel
	guesses int  // references that were taken at a predicted place before it
}

// crop is a piece of a frame at full depth.
type crop struct {
	register.Area
	pix8  []uint8
	pix16 []uint16
	grey  float32
	ready *ready // nil: its spline is made anew whenever it is wanted
}

// keep copies an area of the picture, repeating the border outside it.
func keep(l *footage.Luma, a register.Area) crop {
	c := crop{Area: a, grey: register.Grey(l)}
	if l.Pix8 != nil {
		c.pix8 = copyArea(l.Pix8, l, a)
	} else {
		c.pix16 = copyArea(l.Pix16, l, a)
	}
	return c
}

func copyArea[T uint8 | uint16](pix []T, l *footage.Luma, a register.Area) []T {
	out := make([]T, a.W*a.H)
	for j := range a.H {
		row := pix[min(max(a.Y+j, 0), l.Height-1)*l.Width:][:l.Width]
		if a.X >= 0 && a.X+a.W <= l.Width {
			copy(out[j*a.W:], row[a.X:a.X+a.W])
			continue
		}
		for i := range a.W {
			out[j*a.W+i] = row[min(max(a.X+i, 0), l.Width-1)]
		}
	}
	return out
}

// bytes is the crop's memory.
func (c *crop) bytes() int { return len(c.pix8) + 2*len(c.pix16) }

// levels writes the crop in levels of an 8-bit picture.
func (c *crop) levels(dst []float32) []float32 {
	dst = slices.Grow(dst[:0], c.W*c.H)[:c.W*c.H]
	for i, v := range c.pix8 {
		dst[i] = float32(v)
	}
	for i, v := range c.pix16 {
		dst[i] = float32(v) * c.grey
	}
	return dst
}

// predict extends a lane's last sightings to time t by a parabola (through the last three
// at least, by least squares through five), by a line, or by rest, as far as they go.
func predict(s []sighting, t float64) (x, y float64) {
	n := len(s)
	if n == 0 {
		return 0, 0
	}
	if n == 1 {
		return s[0].x, s[0].y
	}
	s = s[max(0, n-5):]
	n = len(s)
	t0 := s[n-1].t
	unit := (t0 - s[0].t) / float64(n-1)
	if unit == 0 {
		return s[n-1].x, s[n-1].y
	}
	terms := min(n, 3)
	var a [register.MaxTerms * register.MaxTerms]float64
	var bx, by [3]float64
	for _, p := range s {
		z := (p.t - t0) / unit
		row := [3]float64{1, z, z * z}
		for i := range terms {
			for j := range terms {
				a[i*register.MaxTerms+j] += row[i] * row[j]
			}
			bx[i] += row[i] * p.x
			by[i] += row[i] * p.y
		}
	}
	if !register.Invert(&a, terms) {
		return s[n-1].x, s[n-1].y
	}
	z := (t - t0) / unit
	row := [3]float64{1, z, z * z}
	for i := range terms {
		var cx, cy float64
		for j := range terms {
			cx += a[i*register.MaxTerms+j] * bx[j]
			cy += a[i*register.MaxTerms+j] * by[j]
		}
		x += cx * row[i]
		y += cy * row[i]
	}
	return x, y
}

// at is a pixel of the crop, in levels of an 8-bit picture; beyond it its border is repeated.
func (c *crop) at(x, y int) float32 {
	x, y = min(max(x, 0), c.W-1), min(max(y, 0), c.H-1)
	if c.pix8 != nil {
		return float32(c.pix8[y*c.W+x])
	}
	return float32(c.pix16[y*c.W+x]) * c.grey
}
