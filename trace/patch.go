package trace

import (
	"math"
	"slices"
)

// margin is how many pixels a patch carries around itself: three for the spline, the rest so
// that its border, where the spline's filter must guess, is forgotten (0.43^9 = 0.0005).
const margin = 12

// patch is a reference: a rectangle of the picture, averaged over frames.
type patch struct {
	w, h   int
	pix    []float32 // (w+2 margin) by (h+2 margin), grey levels
	weight []float32 // w by h, relative
	beta   []float32 // like pix: share of the background let through; nil: unknown
	b0     []float32 // like pix: background at rest
	along  byte      // 'x' or 'y': the axis nearest the flight line; 0: y
}

// mostPixels limits how many pixels are matched: those that say most are taken.
const mostPixels = 4096

// stripe is the width, px, of the stripes across the flight over which residuals are taken to be
// alike: an edge across the flight errs as a whole, where its sampling leaves something over, and compression works in
// cells of four pixels (ITU-T H.264, 4x4 transform).
const stripe = 4

// matcher prepares the patch for matching, blurred over a stretch of (bx, by) pixels as a moving
// vehicle is during the exposure. ok is false where the patch has no texture in some direction.
func (p *patch) matcher(b *basis, bx, by float64) (m *matcher, ok bool) {
	W, H := p.w+2*margin, p.h+2*margin
	sp := &spline{basis: b}
	pix, beta := p.pix, p.beta
	if beta != nil {
		pix = make([]float32, len(p.pix))
		for k, t := range p.pix {
			pix[k] = t - beta[k]*p.b0[k]
		}
	}
	sp.set(pix, W, H)
	if math.Hypot(bx, by) > 0.05 {
		sp.set(blurred(sp, bx, by), W, H)
	}
	veil := &spline{basis: b}
	if beta != nil {
		veil.set(beta, W, H)
		if math.Hypot(bx, by) > 0.05 {
			beta = blurred(veil, bx, by)
			veil.set(beta, W, H)
		}
	}
	m = &matcher{}
	m.blocks = max(p.w, p.h)/stripe + 1
	keep := p.telling(sp)
	var mean, sw float64
	for _, at := range keep {
		x, y := at%p.w, at/p.w
		gx, gy := sp.gradient(x+margin, y+margin)
		u, v := float32(x)-float32(p.w-1)/2, float32(y)-float32(p.h-1)/2
		t := sp.value(x+margin, y+margin)
		m.u, m.v, m.t = append(m.u, u), append(m.v, v), append(m.t, t)
		m.weight = append(m.weight, p.weight[at])
		if p.along == 'x' {
			m.block = append(m.block, int32(x/stripe))
		} else {
			m.block = append(m.block, int32(y/stripe))
		}
		for i, r := range [maxReg]float32{t, 1, gx, gy, gx*u + gy*v, gy*u - gx*v} {
			m.reg[i] = append(m.reg[i], r)
		}
		if beta != nil {
			sx, sy := veil.gradient(x+margin, y+margin)
			m.beta = append(m.beta, beta[(y+margin)*W+x+margin])
			m.slopeX, m.slopeY = append(m.slopeX, sx), append(m.slopeY, sy)
		}
		mean += float64(t * p.weight[at])
		sw += float64(p.weight[at])
	}
	if sw == 0 {
		return m, false
	}
	m.mean = float32(mean / sw)
	for k := range m.t {
		m.t[k] -= m.mean
		m.reg[0][k] = m.t[k]
	}
	return m, m.solve(4)
}

// value is the spline's value at a grid point.
func (s *spline) value(x, y int) float32 {
	k := [5]float32{atTwo, atOne, atZero, atOne, atTwo}
	var sum float32
	for j := range 5 {
		o := (y+j-2)*s.w + x - 2
		var row float32
		for i, c := range s.c[o : o+5] {
			row += k[i] * c
		}
		sum += k[j] * row
	}
	return sum
}

// telling lists the pixels to match: all with weight or, of a large patch, those with most gradient.
func (p *patch) telling(sp *spline) []int {
	var keep []int
	for at, w := range p.weight {
		if w > 1e-3 {
			keep = append(keep, at)
		}
	}
	if len(keep) <= mostPixels {
		return keep
	}
	worth := make([]float32, len(p.weight))
	for _, at := range keep {
		gx, gy := sp.gradient(at%p.w+margin, at/p.w+margin)
		worth[at] = (gx*gx + gy*gy) * p.weight[at]
	}
	slices.SortStableFunc(keep, func(a, b int) int {
		switch {
		case worth[a] > worth[b]:
			return -1
		case worth[a] < worth[b]:
			return 1
		}
		return a - b
	})
	keep = keep[:mostPixels]
	slices.Sort(keep)
	return keep
}

// blurred averages the spline over a straight stretch (bx, by) centred on each pixel: what the
// exposure does to what moves evenly. Steps are shorter than a pixel.
func blurred(sp *spline, bx, by float64) []float32 {
	n := int(math.Ceil(1.3*math.Hypot(bx, by))) + 1
	out := make([]float32, sp.w*sp.h)
	for j := range n {
		f := (float64(j)+0.5)/float64(n) - 0.5
		dx, dy := f*bx, f*by
		for y := range sp.h {
			// Beyond the window its border is repeated.
			sy := min(max(float64(y)+dy, 2), float64(sp.h)-4.01)
			for x := range sp.w {
				sx := min(max(float64(x)+dx, 2), float64(sp.w)-4.01)
				out[y*sp.w+x] += sp.at(float32(sx), float32(sy)) / float32(n)
			}
		}
	}
	return out
}

// flat returns n equal weights.
func flat(n int) []float32 {
	w := make([]float32, n)
	for i := range w {
		w[i] = 1
	}
	return w
}
