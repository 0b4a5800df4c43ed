package camera

import "math"

const (
	// rangeFocalU is the relative standard uncertainty of a focal length worked out of a distance: what is called the distance may be
	// the level one or the one along the line of sight, from the lens or from the sensor (common practice, no source).
	rangeFocalU = 0.02
)

// focused returns the view with the focal length that the rod's scale shows where its distance is stated and the lens is not: a length at the
// distance Z is seen as much smaller as the lens is shorter. With m metres of an upright rod to a pixel where it lies y px above the optical axis,
// and g = tan(tilt)/f from the marks' perspective,
//
//	m f (1 - g y)^2 = Z (1 + g^2 f^2)
//
// (from m = Z cos^2(b)/(cos^2(t + b) f), tan(b) = y/f); of the two solutions the one that stays finite for a level camera. Without it a
// lens is taken to be a normal one, and a long one tilted up would pass for a level one: the height at which the flight is seen level, about which
// a lean turns it, came out several metres too high.
func (r *rod) focused(given view, s Spec) (view, bool) {
	v := given
	if _, _, known := s.Lens.focalPixels(); known || r.lies() {
		return v, false
	}
	z, u := s.RodRange, 0.0
	if !z.Given {
		z, u = s.FlightRange, rangeAllowance/math.Sqrt(3)
	}
	if !z.Given {
		return v, false
	}
	c, _ := r.perspective()
	if v.tiltGiven {
		c = r.known.c
	}
	if v.focal = r.lensFor(c, z.Value, v); v.focal == 0 {
		return given, false
	}
	v.focalU = math.Hypot(math.Hypot(relative(z, assumedRangeU), u), rangeFocalU)
	v.lens.Focal = v.focal
	return v, true
}

// lensFor is the focal length, px, that shows the rod at the distance z with the perspective c; 0 where none does.
func (r *rod) lensFor(c, z float64, v view) float64 {
	c /= r.ts
	y := v.up(r.axis.Rest)
	g := c / (r.axis.Uy + c*y)
	m := r.hs / r.ts * math.Abs(r.at[0]-r.at[1]*r.at[2]) * math.Pow(1-g*y, 2)
	root := m*m - 4*z*z*g*g
	if !(m > 0 && root > 0) {
		return 0
	}
	return 2 * z / (m + math.Sqrt(root))
}
