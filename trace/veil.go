package trace

import "math"

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
	W, H := r.patchW+2*margin, r.patchH+2*margin
	if r.veil == nil {
		r.veil = &veil{beta: make([]float32, W*H), b0: append([]float32(nil), r.patch.pix...)}
	}
	fs, bs := make([][]float32, len(idx)), make([][]float32, len(idx))
	parallel(len(idx), r.workers, r.basis, func(s *scratch, k int) { fs[k], bs[k] = r.seen(s, idx[k]) })
	for range 2 {
		r.veil.regress(r.patch.pix, fs, bs, float32(r.noise*r.noise))
		r.veil.fill(W, H, r.patch.pix)
	}
	r.patch.beta, r.patch.b0, r.seenAt = r.veil.beta, r.veil.b0, nil
	r.hideVehicle()
}

// seen returns frame i over the patch and margin in the reference's gain, and the
// background behind it; nil where a match or the background is missing. Places beyond the crop are NaN-free: they repeat its border.
func (r *refiner) seen(s *scratch, i int) (f, b []float32) {
	m := &r.matches[i]
	if !m.ok || m.g <= 0 {
		return nil, nil
	}
	g, o := float32(m.g), float32(m.o)
	if r.patch.beta == nil {
		// As long as the background takes part in the match it bends gain and offset; the light is steadier than that.
		g, o = 1, 0
	}
	W, H := r.patchW+2*margin, r.patchH+2*margin
	w := r.load(s, i)
	dx, dy := r.behind(i)
	f, b = make([]float32, W*H), make([]float32, W*H)
	for y := range H {
		for x := range W {
			u, v := float64(x)-float64(W-1)/2, float64(y)-float64(H-1)/2
			px, py := w.X+w.A*u-w.B*v, w.Y+w.B*u+w.A*v
			bx, by := px+dx, py+dy
			if !s.sp.holds(px, py) {
				px, py = min(max(px, 2), float64(s.sp.w)-4.01), min(max(py, 2), float64(s.sp.h)-4.01)
				bx, by = px+dx, py+dy
			}
			if !r.back.spline.holds(bx, by) {
				bx, by = min(max(bx, 2), float64(r.back.w)-4.01), min(max(by, 2), float64(r.back.h)-4.01)
			}
			f[y*W+x] = (s.sp.at(float32(px), float32(py)) - o) / g
			b[y*W+x] = r.back.spline.at(float32(bx), float32(by))
		}
	}
	return f, b
}

// behind is what to add to a place in crop i to get the place in the backdrop that shows the same spot at rest.
func (r *refiner) behind(i int) (dx, dy float64) {
	c := &r.sights[i].crop
	k := r.steady.at(r.sights[i].frame, r.warps[i].X, r.warps[i].Y)
	return float64(c.x) - k.dx - float64(r.back.x), float64(c.y) - k.dy - float64(r.back.y)
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
	W, H := r.patchW+2*margin, r.patchH+2*margin
	x0 := int(math.Round(r.anchor.X-float64(W-1)/2)) - r.back.x
	y0 := int(math.Round(r.anchor.Y-float64(H-1)/2)) - r.back.y
	for y := range H {
		for x := range W {
			px, py := x0+x, y0+y
			if px < 0 || py < 0 || px >= r.back.w || py >= r.back.h || r.veil.beta[y*W+x] >= openShare {
				continue
			}
			r.back.pix[py*r.back.w+px] = r.veil.b0[y*W+x]
		}
	}
	r.back.spline.set(r.back.pix, r.back.w, r.back.h)
}

// unveil returns the reference as it looks before the background at warp w: C + beta B, whose
// gradient with respect to the vehicle's place is that of C plus B times that of beta (the
// background itself stays where it is). It is nil where that has no texture left.
func (m *matcher) unveil(s *scratch, w warp) *matcher {
	d := &s.before
	d.u, d.v, d.weight, d.block, d.blocks, d.rough = m.u, m.v, m.weight, m.block, m.blocks, m.rough
	n := len(m.u)
	d.t = grow(d.t, n)
	for i := range d.reg {
		d.reg[i] = grow(d.reg[i], n)
	}
	copy(d.reg[1], m.reg[1])
	x0, y0, a, b := float32(w.X)+s.bx, float32(w.Y)+s.by, float32(w.A), float32(w.B)
	maxX, maxY := float32(s.back.w)-4.01, float32(s.back.h)-4.01
	var mean, sw float64
	for k, beta := range m.beta {
		u, v := m.u[k], m.v[k]
		t, gx, gy := m.t[k]+m.mean, m.reg[2][k], m.reg[3][k]
		if sx, sy := m.slopeX[k], m.slopeY[k]; beta > 0.005 || sx*sx+sy*sy > 1e-5 {
			x, y := min(max(x0+a*u-b*v, 2), maxX), min(max(y0+b*u+a*v, 2), maxY)
			back := s.back.at(x, y)
			t += beta * back
			gx += sx * back
			gy += sy * back
		}
		d.t[k], d.reg[2][k], d.reg[3][k] = t, gx, gy
		if m.n == maxReg {
			d.reg[4][k], d.reg[5][k] = gx*u+gy*v, gy*u-gx*v
		}
		mean += float64(t * m.weight[k])
		sw += float64(m.weight[k])
	}
	d.mean = float32(mean / sw)
	for k := range d.t {
		d.t[k] -= d.mean
		d.reg[0][k] = d.t[k]
	}
	if !d.solve(m.n) {
		return nil
	}
	return d
}

// inside returns the patch's weights with all but the vehicle's inside put to zero, where
// matching cannot be drawn along by the background at all, while the veil is still being
// learned. It returns nil where the inside alone has too little texture along the flight.
func (r *refiner) inside() []float32 {
	W := r.patchW + 2*margin
	out := make([]float32, len(r.weight))
	sp := &spline{basis: r.basis}
	sp.set(r.patch.pix, W, r.patchH+2*margin)
	_, gx, gy := sp.derivatives(margin, margin, r.patchW, r.patchH)
	var all, in float64
	n := 0
	for k := range out {
		g := float64(gx[k])*r.line.Ux + float64(gy[k])*r.line.Uy
		all += g * g
		if r.veil.most(k%r.patchW+margin, k/r.patchW+margin, W) < insideShare {
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
