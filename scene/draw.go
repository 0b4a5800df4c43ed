package scene

import "math"

// layer is a window of the picture with what covers it: colour already multiplied by
// coverage, and coverage.
type layer struct {
	x0, y0, w, h int
	pix          [][4]float32
}

func newLayer(x0, y0, x1, y1 int) *layer {
	w, h := max(0, x1-x0), max(0, y1-y0)
	return &layer{x0, y0, w, h, make([][4]float32, w*h)}
}

// across is the number of samples per pixel across the flight line.
const across = 8

// stroke is how parts are drawn: where they stand, how they move and how they are lit.
type stroke struct {
	sheet *sheet
	// knots returns heights along the axis at evenly spaced instants of row y's exposure;
	// between them the movement is taken as even.
	knots  func(y int) []float64
	light  *lamp
	dx, dy float64 // shake, px
}

// draw lays parts over the layer, one after the other.
func (l *layer) draw(parts []part, s *stroke) {
	n := l.w * across
	if n == 0 {
		return
	}
	upper, lower := make([]place, n), make([]place, n)
	edge := func(row []place, y float64) {
		for i := range row {
			x := float64(l.x0) + (float64(i)+0.5)/across - 0.5
			row[i].s, row[i].q = s.sheet.locate(x-s.dx, y-s.dy)
		}
	}
	edge(lower, float64(l.y0)-0.5)
	for y := range l.h {
		upper, lower = lower, upper
		edge(lower, float64(l.y0+y)+0.5)
		knots := s.knots(l.y0 + y)
		for i := range parts {
			l.drawRow(&parts[i], s.light, y, knots, upper, lower)
		}
	}
}

// place is a place on a sheet, along its axis and across.
type place struct{ s, q float64 }

// drawRow lays one part over row y, whose upper and lower edges look at the given places.
func (l *layer) drawRow(p *part, light *lamp, y int, knots []float64, upper, lower []place) {
	moves := len(knots) - 1
	low, high := knots[0], knots[0]
	for _, h := range knots {
		low, high = min(low, h), max(high, h)
	}
	row := l.pix[y*l.w : (y+1)*l.w]
	for x := range row {
		var sum [4]float64
		for i := x * across; i < (x+1)*across; i++ {
			q := (upper[i].q + lower[i].q) / 2
			s0, s1 := min(lower[i].s, upper[i].s), max(lower[i].s, upper[i].s)
			if q < p.left || q > p.right || s1 < p.lo+low || s0 > p.hi+high {
				continue
			}
			lo, hi := p.span(q)
			if lo >= hi {
				continue
			}
			bright := 1.0
			if light != nil {
				bright = light.on(p, q, (s0+s1)/2-(low+high)/2)
			}
			for k := range max(1, moves) {
				a := p.paint.average(s0, s1, lo, hi, knots[k], knots[min(k+1, moves)])
				sum[0] += a[0] * bright
				sum[1] += a[1] * bright
				sum[2] += a[2] * bright
				sum[3] += a[3]
			}
		}
		if sum[3] == 0 {
			continue
		}
		w := 1 / float64(across*max(1, moves))
		keep := float32(1 - sum[3]*w)
		for k := range sum {
			row[x][k] = row[x][k]*keep + float32(sum[k]*w)
		}
	}
}

// blur spreads the layer by a Gaussian of the given standard deviation (px). The layer must
// have a margin of three of them.
func (l *layer) blur(sd float64) {
	if sd <= 0 || l.w == 0 {
		return
	}
	kernel := gaussian(sd)
	r := len(kernel) / 2
	line := make([][4]float32, max(l.w, l.h))
	pass := func(start, stride, n int) {
		for i := range n {
			line[i] = l.pix[start+i*stride]
		}
		for i := range n {
			var sum [4]float32
			for k, w := range kernel {
				if j := i + k - r; j >= 0 && j < n {
					for c := range sum {
						sum[c] += w * line[j][c]
					}
				}
			}
			l.pix[start+i*stride] = sum
		}
	}
	for y := range l.h {
		pass(y*l.w, 1, l.w)
	}
	for x := range l.w {
		pass(x, l.w, l.h)
	}
}

// gaussian returns the weights of a Gaussian averaged over pixels, out to four standard
// deviations; they sum to 1.
func gaussian(sd float64) []float32 {
	r := int(math.Ceil(4 * sd))
	k := make([]float64, 2*r+1)
	var sum float64
	for i := range k {
		a := (float64(i-r) - 0.5) / (sd * math.Sqrt2)
		b := (float64(i-r) + 0.5) / (sd * math.Sqrt2)
		k[i] = math.Erf(b) - math.Erf(a)
		sum += k[i]
	}
	out := make([]float32, len(k))
	for i := range k {
		out[i] = float32(k[i] / sum)
	}
	return out
}

// canvas is the picture in linear light, one plane (luminance) or three (red, green, blue).
type canvas struct {
	w, h   int
	planes [][]float32
}

func newCanvas(w, h, planes int) *canvas {
	c := &canvas{w: w, h: h}
	for range planes {
		c.planes = append(c.planes, make([]float32, w*h))
	}
	return c
}

// lay puts a layer on the canvas.
func (c *canvas) lay(l *layer) {
	for y := max(0, -l.y0); y < min(l.h, c.h-l.y0); y++ {
		for x := max(0, -l.x0); x < min(l.w, c.w-l.x0); x++ {
			p := &l.pix[y*l.w+x]
			if p[0] == 0 && p[1] == 0 && p[2] == 0 && p[3] == 0 {
				continue
			}
			at := (y+l.y0)*c.w + x + l.x0
			keep := 1 - p[3]
			if len(c.planes) == 1 {
				lum := 0.2126*p[0] + 0.7152*p[1] + 0.0722*p[2]
				c.planes[0][at] = c.planes[0][at]*keep + lum
				continue
			}
			for k := range c.planes {
				c.planes[k][at] = c.planes[k][at]*keep + p[k]
			}
		}
	}
}
