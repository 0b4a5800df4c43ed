package trace

import (
	"math"

	"padside/register"
)

// How much of the background each pixel of the patch lets through.
//
// A pixel that the vehicle covers in part, or not at all, shows T = C + beta B: the vehicle's share C and
// the share beta of the background B behind it. As the vehicle moves T changes with B, and a match against the
// resting T is drawn along by edges of the background. B is known, for the picture at rest shows it, so beta can be
// learned from the frames in motion: with B0 behind the patch at rest,
//
//	f - T = beta (B - B0)
//
// pixel by pixel, by least squares through the origin. B0 under the vehicle itself is never seen at rest; it
// is filled in from the sides.

// veil is what is learned, over the patch and its margin.
type veil struct {
	beta []float32 // share of the background, 0 to 1
	b0   []float32 // background behind the patch at rest
}

const (
	openShare = 0.9 // beta beyond which a pixel is background
	// veilPrior is the sum of squares of B - B0, in units of the noise variance, below which beta
	// is not believed: then the background is even, and beta does not matter.
	veilPrior = 30.0
)

// learnVeil learns beta from the matches so far. It does nothing where the picture at rest is not known.
func (r *refiner) learnVeil() {
	idx := r.inMotion(mostSamples)
	if r.back == nil || len(idx) < leastSamples {
		return
	}
	W, H := r.patchW+2*register.Margin, r.patchH+2*register.Margin
	if r.veil == nil {
		r.veil = &veil{beta: make([]float32, W*H), b0: append([]float32(nil), r.patch.Pix...)}
	}
	fs, bs := make([][]float32, len(idx)), make([][]float32, len(idx))
	register.Parallel(len(idx), r.workers, r.basis, func(s *register.Scratch, k int) { fs[k], bs[k] = r.seen(s, idx[k]) })
	for range 2 {
		r.veil.regress(r.patch.Pix, fs, bs, float32(r.noise*r.noise))
		r.veil.fill(W, H, r.patch.Pix)
	}
	r.patch.Beta, r.patch.B0, r.seenAt = r.veil.beta, r.veil.b0, nil
	r.hideVehicle()
}

// seen returns frame i over the patch and margin in the reference's gain, and the
// background behind it; nil where a match or the background is missing. Places beyond the crop are NaN-free: they repeat its border.
func (r *refiner) seen(s *register.Scratch, i int) (f, b []float32) {
	m := &r.matches[i]
	if !m.OK || m.G <= 0 {
		return nil, nil
	}
	g, o := float32(m.G), float32(m.O)
	if r.patch.Beta == nil {
		// As long as the background takes part in the match it bends gain and offset; the light is steadier than that.
		g, o = 1, 0
	}
	W, H := r.patchW+2*register.Margin, r.patchH+2*register.Margin
	w := r.load(s, i)
	dx, dy := r.behind(i)
	f, b = make([]float32, W*H), make([]float32, W*H)
	for y := range H {
		for x := range W {
			u, v := float64(x)-float64(W-1)/2, float64(y)-float64(H-1)/2
			px, py := w.X+w.A*u-w.B*v, w.Y+w.B*u+w.A*v
			bx, by := px+dx, py+dy
			if !s.Window.Holds(px, py) {
				px, py = min(max(px, 2), float64(s.Window.W)-4.01), min(max(py, 2), float64(s.Window.H)-4.01)
				bx, by = px+dx, py+dy
			}
			if !r.back.spline.Holds(bx, by) {
				bx, by = min(max(bx, 2), float64(r.back.W)-4.01), min(max(by, 2), float64(r.back.H)-4.01)
			}
			f[y*W+x] = (s.Window.At(float32(px), float32(py)) - o) / g
			b[y*W+x] = r.back.spline.At(float32(bx), float32(by))
		}
	}
	return f, b
}

// behind is what to add to a place in crop i to get the place in the backdrop that shows the same spot at rest.
func (r *refiner) behind(i int) (dx, dy float64) {
	c := &r.sights[i].crop
	k := r.steady.At(r.sights[i].frame, r.warps[i].X, r.warps[i].Y)
	return float64(c.X) - k.DX - float64(r.back.X), float64(c.Y) - k.DY - float64(r.back.Y)
}

// regress estimates beta from frames f before backgrounds b; t is the reference at rest.
func (v *veil) regress(t []float32, f, b [][]float32, noise float32) {
	for p := range v.beta {
		var sxy, sxx float32
		for k := range f {
			if f[k] == nil {
				continue
			}
			x, y := b[k][p]-v.b0[p], f[k][p]-t[p]
			sxy += x * y
			sxx += x * x
		}
		v.beta[p] = min(max(sxy/(sxx+veilPrior*(noise+0.1)), 0), 1)
	}
}

// fill makes b0: the reference itself where that is background, elsewhere a blend between the
// nearest background pixels left and right, above and below, by distance.
func (v *veil) fill(w, h int, t []float32) {
	sum, wt := make([]float32, w*h), make([]float32, w*h)
	sweep := func(start, stride, n int) {
		last := -1
		for k := range n {
			p := start + k*stride
			if v.beta[p] < openShare {
				continue
			}
			for j := last + 1; j < k; j++ {
				q := start + j*stride
				near := float32(1) / float32(k-j)
				sum[q] += near * t[p]
				wt[q] += near
				if last >= 0 {
					near = 1 / float32(j-last)
					sum[q] += near * t[start+last*stride]
					wt[q] += near
				}
			}
			last = k
		}
		if last >= 0 {
			for j := last + 1; j < n; j++ {
				q := start + j*stride
				near := 1 / float32(j-last)
				sum[q] += near * t[start+last*stride]
				wt[q] += near
			}
		}
	}
	for y := range h {
		sweep(y*w, 1, w)
	}
	for x := range w {
		sweep(x, w, h)
	}
	for p := range v.b0 {
		switch {
		case v.beta[p] >= openShare || wt[p] == 0:
			v.b0[p] = t[p]
		default:
			v.b0[p] = sum[p] / wt[p]
		}
	}
}

// hideVehicle writes the filled-in background over the vehicle's place at rest in the backdrop.
func (r *refiner) hideVehicle() {
	W, H := r.patchW+2*register.Margin, r.patchH+2*register.Margin
	x0 := int(math.Round(r.anchor.X-float64(W-1)/2)) - r.back.X
	y0 := int(math.Round(r.anchor.Y-float64(H-1)/2)) - r.back.Y
	for y := range H {
		for x := range W {
			px, py := x0+x, y0+y
			if px < 0 || py < 0 || px >= r.back.W || py >= r.back.H || r.veil.beta[y*W+x] >= openShare {
				continue
			}
			r.back.pix[py*r.back.W+px] = r.veil.b0[y*W+x]
		}
	}
	r.back.spline.Set(r.back.pix, r.back.W, r.back.H)
}

// inside returns the patch's weights with all but the vehicle's inside put to zero, where
// matching cannot be drawn along by the background at all, while the veil is still being
// learned. It returns nil where the inside alone has too little texture along the flight.
func (r *refiner) inside() []float32 {
	W := r.patchW + 2*register.Margin
	out := make([]float32, len(r.weight))
	sp := register.NewSpline(r.basis, r.patch.Pix, W, r.patchH+2*register.Margin)
	_, gx, gy := sp.Derivatives(register.Margin, register.Margin, r.patchW, r.patchH)
	var all, in float64
	n := 0
	for k := range out {
		g := float64(gx[k])*r.line.Ux + float64(gy[k])*r.line.Uy
		all += g * g
		if r.veil.most(k%r.patchW+register.Margin, k/r.patchW+register.Margin, W) < insideShare {
			out[k] = 1
			in += g * g
			n++
		}
	}
	if in < insideLeast*all || n < leastInside {
		return nil
	}
	return out
}

const (
	insideShare = 0.15
	insideLeast = 0.1 // of the patch's texture along the flight
	leastInside = 60  // pixels
)

// most is the largest beta within two pixels: what the spline and the lens may mix in.
func (v *veil) most(x, y, w int) float32 {
	var most float32
	for j := y - 2; j <= y+2; j++ {
		for _, b := range v.beta[j*w+x-2 : j*w+x+3] {
			most = max(most, b)
		}
	}
	return most
}
