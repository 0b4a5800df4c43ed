package camera

import "math"

// view is where the camera looks from: pinhole, its rows level, tilted up by tilt.
type view struct {
	lens      Distortion
	focal     float64 // px
	focalU    float64 // relative
	tilt      float64 // rad
	tiltU     float64 // rad
	tiltGiven bool
}

// newView fills in what is not known; reach stands in for the picture's size where even
// that is missing.
func newView(s Spec, line FlightLine, reach float64) view {
	v := view{focalU: normalLensU}
	centre := Pixel{line.Rest.X + line.Ux*reach/2, line.Rest.Y + line.Uy*reach/2}
	diagonal := 1.5 * reach
	if s.Width > 0 && s.Height > 0 {
		centre = Pixel{float64(s.Width-1) / 2, float64(s.Height-1) / 2}
		diagonal = math.Hypot(float64(s.Width), float64(s.Height))
	}
	if s.Lens.Centre != nil {
		centre = *s.Lens.Centre
	}
	v.focal = diagonal
	if f, u, ok := s.Lens.focalPixels(); ok {
		v.focal, v.focalU = f, u
	}
	v.lens = Distortion{Centre: centre, Focal: v.focal, K1: s.Lens.K1, K2: s.Lens.K2}
	if t := s.Lens.Tilt; t.Given {
		v.tilt, v.tiltU, v.tiltGiven = t.Value, t.U, true
		if t.U == 0 && !t.Exact {
			v.tiltU = assumedTiltU
		}
	} else {
		v.tiltU = levelU
	}
	return v
}

// drawn returns the view with the errors of one draw in it.
func (v view) drawn(d *draws) view {
	v.tilt += v.tiltU * d.tilt
	v.focal *= math.Exp(v.focalU * d.focal)
	return v
}

// up is how far a point lies above the optical axis, px; right how far to its right.
func (v view) up(p Pixel) float64    { return v.lens.Centre.Y - p.Y }
func (v view) right(p Pixel) float64 { return p.X - v.lens.Centre.X }

// upright returns the homography from (x, y, 1) of the picture to (X, H, 1) of the upright
// plane at right angles to the camera's heading, one unit of length away: a ray (x right,
// y up, f ahead) of a camera tilted up by t goes ahead by f cos t - y sin t while it rises
// by y cos t + f sin t.
func (v view) upright() matrix3 {
	sin, cos := math.Sincos(v.tilt)
	cx, cy := v.lens.Centre.X, v.lens.Centre.Y
	return matrix3{
		1, 0, -cx,
		0, -cos, cos*cy + v.focal*sin,
		0, sin, v.focal*cos - sin*cy,
	}
}

// level returns the s at which the flight line crosses the camera's own height: where a
// level line of sight meets the picture, f tan(tilt) below its centre; or, for a line that
// runs across the picture, the point nearest to the centre.
func (v view) level(l FlightLine) float64 {
	if up := -l.Uy; math.Abs(up) > 0.3 {
		return (-v.focal*math.Tan(v.tilt) - v.up(l.Rest)) / up
	}
	return (v.lens.Centre.X-l.Rest.X)*l.Ux + (v.lens.Centre.Y-l.Rest.Y)*l.Uy
}

// matrix3 is a 3 by 3 matrix, row after row.
type matrix3 [9]float64

func (m *matrix3) times(x, y, w float64) (float64, float64, float64) {
	return m[0]*x + m[1]*y + m[2]*w, m[3]*x + m[4]*y + m[5]*w, m[6]*x + m[7]*y + m[8]*w
}

// point maps a picture's point.
func (m *matrix3) point(p Pixel) (x, y float64) {
	a, b, w := m.times(p.X, p.Y, 1)
	return a / w, b / w
}

// along returns the map along a line of the picture of the distance from its rest point:
// with the homography taking Rest + s U to (p + s q), the way from rest is
// s |q_xy - p_xy q_w/p_w| / p_w / (1 + s q_w/p_w).
func (m *matrix3) along(l FlightLine) projective {
	px, py, pw := m.times(l.Rest.X, l.Rest.Y, 1)
	qx, qy, qw := m.times(l.Ux, l.Uy, 0)
	return projective{
		a: math.Hypot(qx-px*qw/pw, qy-py*qw/pw) / math.Abs(pw),
		c: qw / pw,
	}
}

// inverted returns the inverse by cofactors; ok is false where there is none.
func (m *matrix3) inverted() (matrix3, bool) {
	a, b, c, d, e, f, g, h, i := m[0], m[1], m[2], m[3], m[4], m[5], m[6], m[7], m[8]
	det := a*(e*i-f*h) - b*(d*i-f*g) + c*(d*h-e*g)
	if det == 0 || math.IsNaN(det) || math.IsInf(det, 0) {
		return matrix3{}, false
	}
	k := 1 / det
	return matrix3{
		k * (e*i - f*h), k * (c*h - b*i), k * (b*f - c*e),
		k * (f*g - d*i), k * (a*i - c*g), k * (c*d - a*f),
		k * (d*h - e*g), k * (b*g - a*h), k * (a*e - b*d),
	}, true
}

func (m *matrix3) product(o *matrix3) matrix3 {
	var r matrix3
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				r[3*i+j] += m[3*i+k] * o[3*k+j]
			}
		}
	}
	return r
}
