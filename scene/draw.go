package scene

import (
	"math"
	"slices"
)

// layer is a window of the picture with what covers it: colour already multiplied by
// coverage, and coverage, four numbers to a pixel.
type layer struct {
	x0, y0, w, h int
	pix          []float32
}

func newLayer(x0, y0, x1, y1 int) *layer {
	w, h := max(0, x1-x0), max(0, y1-y0)
	return &layer{x0, y0, w, h, make([]float32, 4*w*h)}
}

// across is the number of samples per pixel across the flight line.
const across = 8

// stroke is how parts are drawn: where they stand, how they move and how they are lit.
type stroke struct {
	sheet *sheet
	// knots returns heights along the axis at evenly spaced instants of the exposure of the pixel (x, y);
	// between them the movement is taken as even.
	knots    func(x, y int) []float64
	sideways bool  // knots differ from column to column, not from row to row
	light    *lamp // nil: as painted
	hand     *movement
}

// draw lays parts over the layer, one after the other.
func (l *layer) draw(parts []part, s *stroke) {
	n := l.w * across
	if n == 0 {
		return
	}
	upper, lower := make([]place, n), make([]place, n)
	edge := func(row []place, y float64) (lo, hi float64) {
		lo, hi = math.Inf(1), math.Inf(-1)
		for i := range row {
			x := float64(l.x0) + (float64(i)+0.5)/across - 0.5
			row[i].s, row[i].q = s.sheet.locate(s.hand.source(x, y))
			lo, hi = min(lo, row[i].s), max(hi, row[i].s)
		}
		return lo, hi
	}
	lo, hi := edge(lower, float64(l.y0)-0.5)
	runs := l.columns(s)
	for y := range l.h {
		upper, lower = lower, upper
		lastLo, lastHi := lo, hi
		lo, hi = edge(lower, float64(l.y0+y)+0.5)
		if !s.sideways {
			runs = []run{{0, l.w, s.knots(0, l.y0+y)}}
		}
		for i := range parts {
			p := &parts[i]
			least, most := min(lo, lastLo), max(hi, lastHi)
			pad := p.leans(s.sheet, least, most)
			for _, r := range runs {
				if most+pad < p.lo+slices.Min(r.knots) || least-pad > p.hi+slices.Max(r.knots) {
					continue // the row looks past it
				}
				if p.body != nil {
					l.drawSolidRow(p, s, y, r, upper, lower)
				} else {
					l.drawRow(p, s.light, y, r, upper, lower)
				}
			}
		}
	}
}

// run is a stretch of a row, from x0 to before x1, all of which is exposed at one time.
type run struct {
	x0, x1 int
	knots  []float64
}

// columns are the runs of every row where columns are read one after the other, one a column; nil where rows are.
func (l *layer) columns(s *stroke) []run {
	if !s.sideways {
		return nil
	}
	runs := make([]run, l.w)
	for x := range runs {
		runs[x] = run{x, x + 1, s.knots(l.x0+x, 0)}
	}
	return runs
}

// place is a place on a sheet, along its axis and across.
type place struct{ s, q float64 }

// drawRow lays one part over a run of row y, whose upper and lower edges look at the given places.
func (l *layer) drawRow(p *part, light *lamp, y int, r run, upper, lower []place) {
	knots := r.knots
	low, high := slices.Min(knots), slices.Max(knots)
	flat := 1.0
	if light != nil {
		flat = light.flat()
	}
	moves := max(1, len(knots)-1)
	w := 1 / float64(across*moves)
	row := l.row(y)
	for x := r.x0; x < r.x1; x++ {
		if first, last := x*across, (x+1)*across-1; p.past(upper[first].q+lower[first].q, upper[last].q+lower[last].q) {
			continue
		}
		var sum [4]float64
		for i := x * across; i < (x+1)*across; i++ {
			q := (upper[i].q + lower[i].q) / 2
			if q < p.left || q > p.right {
				continue
			}
			s0, s1 := min(lower[i].s, upper[i].s), max(lower[i].s, upper[i].s)
			if s1 < p.lo+low || s0 > p.hi+high {
				continue
			}
			var a [4]float64 // the mean over the movements, times their number
			if band, ok := p.within(s0, s1, low, high); ok {
				a = p.paint.colour[band]
				for k := range a {
					a[k] *= float64(moves)
				}
			} else if lo, hi := p.span(q); lo < hi {
				for k := range moves {
					m := p.paint.average(s0, s1, lo, hi, knots[k], knots[min(k+1, len(knots)-1)])
					a[0], a[1], a[2], a[3] = a[0]+m[0], a[1]+m[1], a[2]+m[2], a[3]+m[3]
				}
			}
			sum[0] += a[0] * flat
			sum[1] += a[1] * flat
			sum[2] += a[2] * flat
			sum[3] += a[3]
		}
		cover(row[4*x:4*x+4], &sum, w)
	}
}

// past says whether a pixel looks past the part: the distances across of its first and last samples, doubled, lie on one side of it.
func (p *part) past(first, last float64) bool {
	return max(first, last) < 2*p.left || min(first, last) > 2*p.right
}

// cover lays the samples of a pixel over it, w each.
func cover(pixel []float32, sum *[4]float64, w float64) {
	if sum[3] == 0 {
		return
	}
	keep := float32(1 - sum[3]*w)
	for k := range sum {
		pixel[k] = pixel[k]*keep + float32(sum[k]*w)
	}
}

// drawSolidRow is drawRow for a solid.
func (l *layer) drawSolidRow(p *part, s *stroke, y int, r run, upper, lower []place) {
	knots := r.knots
	at := stretch{low: slices.Min(knots), high: slices.Max(knots), knots: knots}
	v := s.sheet.view()
	w := 1 / float64(across*max(1, len(knots)-1))
	row := l.row(y)
	for x := r.x0; x < r.x1; x++ {
		var sum [4]float64
		for i := x * across; i < (x+1)*across; i++ {
			q := (upper[i].q + lower[i].q) / 2
			if q < 1.01*p.left || q > 1.01*p.right {
				continue
			}
			if at.ray = v.through(q); at.q < p.left || at.q > p.right {
				continue
			}
			at.s0, at.s1 = min(lower[i].s, upper[i].s), max(lower[i].s, upper[i].s)
			a, ok := p.body.look(p, &at)
			if !ok {
				continue
			}
			bright := 1.0
			if s.light != nil {
				bright = p.body.shade(s.light, &at)
			}
			sum[0] += a[0] * bright
			sum[1] += a[1] * bright
			sum[2] += a[2] * bright
			sum[3] += a[3]
		}
		cover(row[4*x:4*x+4], &sum, w)
	}
}

// row returns the numbers of row y.
func (l *layer) row(y int) []float32 { return l.pix[4*l.w*y : 4*l.w*(y+1)] }

// blur spreads the layer by a Gaussian of the given standard deviation (px). The layer must
// have a margin of three of them.
func (l *layer) blur(sd float64) {
	if sd <= 0 || l.w == 0 {
		return
	}
	kernel := gaussian(sd)
	r := len(kernel) / 2
	wide := make([]float32, 4*(l.w+2*r)) // a row with nothing on either side
	old := make([]float32, len(l.pix))   // the rows spread along themselves
	for y := range l.h {
		copy(wide[4*r:], l.row(y))
		weigh(old[4*l.w*y:4*l.w*(y+1)], kernel, func(k int) []float32 { return wide[4*k:] })
	}
	clear(l.pix)
	for y := range l.h {
		first, last := max(0, r-y), min(len(kernel), l.h+r-y)
		weigh(l.row(y), kernel[first:last], func(k int) []float32 { return old[4*l.w*(y+first+k-r):] })
	}
}

// weigh adds to out the rows that from returns, each by its weight.
func weigh(out, weights []float32, from func(k int) []float32) {
	for k, w := range weights {
		in := from(k)[:len(out)]
		for i, v := range in {
			out[i] += w * v
		}
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
			p := l.pix[4*(y*l.w+x):][:4]
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
