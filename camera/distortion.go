package camera

import (
	"math"

	"padside/fault"
)

// Distortion is radial distortion: a point at radius r from the axis, in units of the focal
// length, is seen at r (1 + K1 r^2 + K2 r^4). Only its radial terms are modelled.
// Source: D. C. Brown, "Decentering distortion of lenses", Photogramm. Eng. 32 (1966) 444.
type Distortion struct {
	Centre Pixel   // where the optical axis meets the picture
	Focal  float64 // px; used only where K1 or K2 is not zero
	K1, K2 float64
}

// Apply returns where a point that a perfect lens shows at p is seen.
func (d Distortion) Apply(p Pixel) Pixel {
	if d.none() {
		return p
	}
	x, y := (p.X-d.Centre.X)/d.Focal, (p.Y-d.Centre.Y)/d.Focal
	r2 := x*x + y*y
	k := d.Focal * (1 + r2*(d.K1+r2*d.K2))
	return Pixel{d.Centre.X + k*x, d.Centre.Y + k*y}
}

// Undistort returns where a perfect lens would show what is seen at p, by Newton's method
// on the radius to 1e-13 of the focal length. Within the picture, which check has walked,
// the radius is monotonic and the solution unique.
func (d Distortion) Undistort(p Pixel) Pixel {
	if d.none() {
		return p
	}
	x, y := (p.X-d.Centre.X)/d.Focal, (p.Y-d.Centre.Y)/d.Focal
	seen := math.Hypot(x, y)
	if seen == 0 {
		return p
	}
	r := seen
	for range 50 {
		r2 := r * r
		slope := 1 + r2*(3*d.K1+5*d.K2*r2)
		if slope < foldSlope {
			slope = foldSlope
		}
		step := (r*(1+r2*(d.K1+r2*d.K2)) - seen) / slope
		step = max(step, -seen/2) // outside the picture there may be no solution: stay finite
		r = min(r-step, 3*seen)
		if math.Abs(step) < 1e-13 {
			break
		}
	}
	k := d.Focal * r / seen
	return Pixel{d.Centre.X + k*x, d.Centre.Y + k*y}
}

func (d Distortion) none() bool { return d.K1 == 0 && d.K2 == 0 }

// foldSlope is the least slope d(seen)/d(r) that a lens may have in the picture: below it
// the picture folds back on itself and the coefficients cannot be those of a lens.
const foldSlope = 0.05

// check walks from the centre to radius (px, as seen) and refuses coefficients that fold
// the picture.
func (d Distortion) check(radius float64) error {
	if d.none() {
		return nil
	}
	u, folds := d.fold()
	if r := math.Sqrt(u); folds && d.Focal*r*(1+u*(d.K1+u*d.K2)) < radius {
		return fault.Requestf("check the signs and sizes of k1 and k2, focal_length and pixel_pitch: they belong together",
			"the distortion k1 = %g, k2 = %g folds the picture back on itself %.0f px from its centre, inside the view",
			d.K1, d.K2, d.Focal*r*(1+u*(d.K1+u*d.K2)))
	}
	return nil
}

// fold returns the smallest r^2 > 0, r in focal lengths, at which the slope of the distortion,
// 1 + 3 K1 r^2 + 5 K2 r^4, has come down to foldSlope; false where it never does. It is the
// smallest positive root of a quadratic, each root in the form that does not cancel.
func (d Distortion) fold() (float64, bool) {
	a, b, c := 5*d.K2, 3*d.K1, 1-foldSlope
	discriminant := b*b - 4*a*c
	if discriminant < 0 {
		return 0, false
	}
	q := -(b + math.Copysign(math.Sqrt(discriminant), b)) / 2
	least, found := math.Inf(1), false
	for _, u := range [...]float64{q / a, c / q} {
		if u > 0 && u < least {
			least, found = u, true
		}
	}
	return least, found
}

// Index returns the largest displacement the distortion causes within the picture, as a
// fraction of the picture's diagonal: the distortion index used in impact-test filming
// (inspired by ISO 8721, from memory; no claim of conformity). The corner is where it is
// largest for coefficients of one sign.
func (d Distortion) Index(width, height int) float64 {
	var worst float64
	w, h := float64(width-1), float64(height-1)
	const steps = 64
	for i := 0; i <= steps; i++ {
		for _, edge := range []Pixel{{0, 0}, {w, h}} {
			f := float64(i) / steps
			p := Pixel{edge.X + (w-edge.X-edge.X)*f, edge.Y}
			q := Pixel{edge.X, edge.Y + (h-edge.Y-edge.Y)*f}
			for _, e := range []Pixel{p, q} {
				u := d.Undistort(e)
				worst = max(worst, math.Hypot(u.X-e.X, u.Y-e.Y))
			}
		}
	}
	return worst / math.Hypot(w, h)
}
