package trace

import (
	"math"

	"padside/camera"
	"padside/fit"
	"padside/stabilise"
)

// steadied is the place of sighting i with the camera's movement taken out.
func (r *refiner) steadied(i int) (x, y float64) {
	w := r.warps[i]
	k := r.camera(i, w.X, w.Y)
	return w.X - k.DX, w.Y - k.DY
}

// camera is by how much the camera's movement shows sighting i elsewhere, at (x, y).
func (r *refiner) camera(i int, x, y float64) stabilise.Shift {
	if r.cameras != nil {
		return r.cameras[i]
	}
	return r.steady.At(r.sights[i].frame, x, y)
}

// orient fits the flight line to the places, from rest towards the farthest one.
func (r *refiner) orient() {
	n := len(r.sights)
	rest := r.rest
	if rest == nil {
		rest = []int{0}
	}
	var xs, ys []float64
	for _, i := range rest {
		x, y := r.steadied(i)
		xs, ys = append(xs, x), append(ys, y)
	}
	r.line.Rest = camera.Pixel{X: fit.Median(xs), Y: fit.Median(ys)}
	var on []int
	for i := range n {
		if r.adrift == nil || !r.adrift[i] {
			on = append(on, i)
		}
	}
	ux, uy, _ := mainAxis(r.line.Rest, len(on), func(k int) (x, y float64) { return r.steadied(on[k]) })
	r.line.Ux, r.line.Uy, r.seenAt = ux, uy, nil
}

// mainAxis is the direction, from rest towards the farthest of n places, of the line through rest
// that is nearest to them: total least squares, the main axis of the moments about it. ok is false
// where all lie at rest.
func mainAxis(rest camera.Pixel, n int, at func(i int) (x, y float64)) (ux, uy float64, ok bool) {
	var sxx, sxy, syy, far, fx, fy float64
	for i := range n {
		x, y := at(i)
		dx, dy := x-rest.X, y-rest.Y
		sxx += dx * dx
		sxy += dx * dy
		syy += dy * dy
		if d := math.Hypot(dx, dy); d > far {
			far, fx, fy = d, dx, dy
		}
	}
	uy, ux = math.Sincos(0.5 * math.Atan2(2*sxy, sxx-syy))
	if ux*fx+uy*fy < 0 {
		ux, uy = -ux, -uy
	}
	return ux, uy, far > 0
}

// along is how far up the flight line sighting i is, px.
func (r *refiner) along(i int) float64 {
	x, y := r.steadied(i)
	return (x-r.line.Rest.X)*r.line.Ux + (y-r.line.Rest.Y)*r.line.Uy
}

// recentre moves the traced point from the middle of the patch to the middle of the texture it
// is followed by, where errors of size and turn do not move it (to first order).
func (r *refiner) recentre() {
	m, ok := r.patch.Matcher(r.basis, 0, 0)
	if !ok {
		return
	}
	u, v, ok := m.Middle(r.line.Ux, r.line.Uy)
	if !ok {
		return
	}
	r.centre = [2]float64{u, v}
	for i := range r.warps {
		w := &r.warps[i]
		w.X, w.Y = w.X+w.A*u-w.B*v, w.Y+w.B*u+w.A*v
		r.matches[i].Warp = *w
	}
}

// axis is the picture's axis nearest the flight line.
func (r *refiner) axis() byte {
	if math.Abs(r.line.Ux) > math.Abs(r.line.Uy) {
		return 'x'
	}
	return 'y'
}

// strayed reports whether fine matching lost its way: more than a quarter of the frames were not matched, or as many lie more
// than strayedBy from where the coarse search saw the patch, give or take what is common to all, and nothing tells that it was
// the coarse search that drifted. The coarse search takes a new picture of the vehicle as it changes its looks and errs a
// little each time; fine matching compares all frames with one reference. Where that one fits better in most frames and
// gives a path as smooth, it is believed. With a reference from flight the smoother path decides, for the coarse search's references are newer
// and so fit better wherever they drift to.
func (r *refiner) strayed() bool {
	n := len(r.matches)
	coarse := func(i int) float64 {
		s := &r.sights[i]
		k := r.steady.At(s.frame, s.x, s.y)
		return (s.x-k.DX-r.line.Rest.X)*r.line.Ux + (s.y-k.DY-r.line.Rest.Y)*r.line.Uy
	}
	var apart, fits, fitted []float64
	for i := range r.matches {
		if r.matches[i].OK {
			apart = append(apart, r.along(i)-coarse(i))
			fits, fitted = append(fits, r.matches[i].Quality), append(fitted, r.sights[i].quality)
		}
	}
	if 4*len(apart) < 3*n {
		return true
	}
	mid, bad := fit.Median(apart), n-len(apart)
	for _, v := range apart {
		if math.Abs(v-mid) > strayedBy {
			bad++
		}
	}
	if 4*bad <= n {
		return false
	}
	return !r.flight && fit.Median(fits) < fit.Median(fitted) || roughness(n, r.along) > asSmooth*roughness(n, coarse)
}

const (
	strayedBy = 1.2 // px, farther than the coarse search errs while it does not drift
	asSmooth  = 1.5
)

// roughness is the standard deviation, px, of white noise on a smooth course of n places, from the median size of fourth
// differences: that of white noise has 70 times its variance.
func roughness(n int, place func(i int) float64) float64 {
	var e []float64
	for i := 2; i+2 < n; i++ {
		e = append(e, math.Abs(place(i-2)-4*place(i-1)+6*place(i)-4*place(i+1)+place(i+2))/math.Sqrt(70))
	}
	if len(e) == 0 {
		return 0
	}
	return 1.4826 * fit.Median(e)
}
