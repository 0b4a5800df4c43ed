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

// matcher prepares the patch for matching the place alone, exactly, blurred over a stretch of (bx, by) pixels as a moving
// vehicle is during the exposure. ok is false where the patch has no texture in some direction.
func (p *patch) matcher(b *basis, bx, by float64) (m *matcher, ok bool) {
	return p.matching(p.looks(b, bx, by), 4, false)
}

// matching makes a matcher of the patch as it looks, with n regressors or, where these cannot be told apart, with 4.
func (p *patch) matching(f *field, n int, rough bool) (m *matcher, ok bool) {
	keep := p.telling(f)
	m = newMatcher(len(keep), f.beta != nil)
	m.rough = rough
	m.blocks = max(p.w, p.h)/stripe + 1
	var mean, sw float64
	for k, at := range keep {
		x, y := at%p.w, at/p.w
		u, v := float32(x)-float32(p.w-1)/2, float32(y)-float32(p.h-1)/2
		t, gx, gy := f.t[at], f.gx[at], f.gy[at]
		m.u[k], m.v[k], m.t[k], m.weight[k] = u, v, t, p.weight[at]
		m.block[k] = int32(y / stripe)
		if p.along == 'x' {
			m.block[k] = int32(x / stripe)
		}
		for i, r := range [maxReg]float32{t, 1, gx, gy, gx*u + gy*v, gy*u - gx*v} {
			m.reg[i][k] = r
		}
		if f.beta != nil {
			m.beta[k], m.slopeX[k], m.slopeY[k] = f.beta[at], f.slopeX[at], f.slopeY[at]
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
	if !m.solve(n) && (n == 4 || !m.solve(4)) {
		return m, false
	}
	if !rough {
		m.project()
	}
	return m, true
}

// telling lists the pixels to match: all with weight or, of a large patch, those with most gradient.
func (p *patch) telling(f *field) []int {
	var keep []int
	for at, w := range p.weight {
		if w > 1e-3 {
			keep = append(keep, at)
		}
	}
	if len(keep) <= mostPixels {
		return keep
	}
	worth := make([]float32, len(keep))
	for k, at := range keep {
		worth[k] = (f.gx[at]*f.gx[at] + f.gy[at]*f.gy[at]) * p.weight[at]
	}
	sorted := slices.Clone(worth)
	slices.Sort(sorted)
	least := sorted[len(sorted)-mostPixels]
	above, _ := slices.BinarySearch(sorted, math.Nextafter32(least, math.MaxFloat32))
	equal := mostPixels - (len(sorted) - above) // that are still wanted of those worth the least
	some := keep[:0]
	for k, at := range keep {
		if worth[k] == least {
			equal--
		}
		if worth[k] > least || worth[k] == least && equal >= 0 {
			some = append(some, at)
		}
	}
	return some
}

// flat returns n equal weights.
func flat(n int) []float32 {
	w := make([]float32, n)
	for i := range w {
		w[i] = 1
	}
	return w
}
