package register

import (
	"math"
	"slices"
)

// Margin is how many pixels a patch carries around itself: three for the spline, the rest so
// that its border, where the spline's filter must guess, is forgotten (0.43^9 = 0.0005).
const Margin = 12

// Patch is a reference: a rectangle of the picture, averaged over frames.
type Patch struct {
	W, H   int
	Pix    []float32 // (W+2 Margin) by (H+2 Margin), levels, row by row
	Weight []float32 // W by H, relative
	Beta   []float32 // like Pix: share of the background let through; nil: unknown
	B0     []float32 // like Pix: background at rest
	Along  byte      // 'x' or 'y': the axis nearest the flight line; 0: y
}

// mostPixels limits how many pixels are matched: those that say most are taken.
const mostPixels = 4096

// stripe is the width, px, of the stripes across the flight over which residuals are taken to be
// alike: an edge across the flight errs as a whole, where its sampling leaves something over, and
// compression works in cells of four pixels (ITU-T H.264, 4x4 transform).
const stripe = 4

// Matcher prepares the patch for matching the place alone, exactly, blurred over a stretch of (bx,
// by) pixels as a moving vehicle is during the exposure. ok is false where the patch has no texture
// in some direction.
func (p *Patch) Matcher(b *Basis, bx, by float64) (m *Matcher, ok bool) {
	return p.Matching(p.Looks(b, bx, by), 4, false)
}

// Matching makes a matcher of the patch as it looks, with n regressors or, where these cannot be
// told apart, with 4.
func (p *Patch) Matching(f *Field, n int, rough bool) (m *Matcher, ok bool) {
	keep := p.telling(f)
	m = newMatcher(len(keep), f.beta != nil)
	m.rough = rough
	m.blocks = max(p.W, p.H)/stripe + 1
	var mean, sw float64
	for k, at := range keep {
		x, y := at%p.W, at/p.W
		u, v := float32(x)-float32(p.W-1)/2, float32(y)-float32(p.H-1)/2
		t, gx, gy := f.T[at], f.GX[at], f.GY[at]
		m.u[k], m.v[k], m.t[k], m.weight[k] = u, v, t, p.Weight[at]
		m.block[k] = int32(y / stripe)
		if p.Along == 'x' {
			m.block[k] = int32(x / stripe)
		}
		for i, r := range [MaxTerms]float32{t, 1, gx, gy, gx*u + gy*v, gy*u - gx*v} {
			m.reg[i][k] = r
		}
		if f.beta != nil {
			m.beta[k], m.slopeX[k], m.slopeY[k] = f.beta[at], f.slopeX[at], f.slopeY[at]
		}
		mean += float64(t * p.Weight[at])
		sw += float64(p.Weight[at])
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

// telling lists the pixels to match: all with weight or, of a large patch, those with most
// gradient.
func (p *Patch) telling(f *Field) []int {
	var keep []int
	for at, w := range p.Weight {
		if w > 1e-3 {
			keep = append(keep, at)
		}
	}
	if len(keep) <= mostPixels {
		return keep
	}
	worth := make([]float32, len(keep))
	for k, at := range keep {
		worth[k] = (f.GX[at]*f.GX[at] + f.GY[at]*f.GY[at]) * p.Weight[at]
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

// Flat returns n equal weights.
func Flat(n int) []float32 {
	w := make([]float32, n)
	for i := range w {
		w[i] = 1
	}
	return w
}
