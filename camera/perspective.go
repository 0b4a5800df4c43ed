package camera

import (
	"math"

	"padside/fault"
)

// perspective is what is known of a rod's c beside its marks' places: c with standard
// uncertainty u, and its change by one standard uncertainty of each source. u = 0: nothing.
type perspective struct {
	c, u              float64
	tilt, lens, width float64
	assumed           bool // nothing but that the camera is roughly level
}

func (p *perspective) drawn(d *draws) float64 {
	return p.c + p.tilt*d.tilt + p.lens*d.focal + p.width*d.width
}

// leastPerspectiveU stands in for exact knowledge of c: it moves heights by less than 1e-6.
const leastPerspectiveU = 1e-7

// foretell joins what the camera's tilt and the widths at the marks say of c, each with the weight
// of its inverse variance. That the camera is roughly level counts only where the widths tell less.
func (r *rod) foretell(marks []sighting, v view) perspective {
	t := r.fromTilt(v)
	c, u, ok := r.fromWidths(marks)
	switch {
	case !ok, t.assumed && t.u < u:
		return t
	case t.assumed:
		return perspective{c: c, u: u, width: u}
	}
	w, known := 1/(u*u), 1/(t.u*t.u)
	share := w / (w + known)
	return perspective{
		c: share*c + (1-share)*t.c, u: 1 / math.Sqrt(w+known),
		tilt: (1 - share) * t.tilt, lens: (1 - share) * t.lens, width: share * u,
	}
}

// fromTilt returns the c that the camera's tilt causes, in half spreads, and what one standard
// uncertainty of tilt and of focal length change in it. Along a direction that rises by
// up per pixel, a point at height y above the axis, tilted by t, goes ahead by
// f cos t - y sin t: c = -g up/(1 - g y), g = tan t/f.
func (r *rod) fromTilt(v view) perspective {
	f := func(v view) float64 {
		g := math.Tan(v.tilt) / v.focal
		return g * r.axis.Uy / max(nearest, 1-g*v.up(r.axis.Rest)) * r.ts
	}
	p := perspective{c: f(v), assumed: !v.tiltGiven}
	p.tilt = f(v.drawn(&draws{tilt: 1})) - p.c
	p.lens = f(v.drawn(&draws{focal: 1})) - p.c
	if !v.tiltGiven { // nor is the swing to the side: as unsure in every direction
		p.tilt = math.Copysign(math.Tan(v.tiltU)/v.focal*r.ts, r.axis.Uy)
	}
	p.u = max(math.Hypot(p.tilt, p.lens), leastPerspectiveU)
	return p
}

// tilted returns the view with the camera's tilt that the marks show, where it is not stated and
// they alone tell the perspective: c = g up/(1 - g y) solved for g = tan t/f.
func (r *rod) tilted(v view) view {
	c, u := r.marksAlone()
	if v.tiltGiven || r.known.u > 0 || r.lies() {
		return v
	}
	tilt := func(c float64) float64 {
		c /= r.ts
		return math.Atan(c / (r.axis.Uy + c*v.up(r.axis.Rest)) * v.focal)
	}
	v.tilt = tilt(c)
	v.tiltU = math.Abs(tilt(c+u*r.noise.best) - v.tilt)
	return v
}

// steepest is how far a camera may be tilted, rad, by what the marks alone show: beyond it a mark is wrong, or the tilt is worth stating.
const steepest = 50 * math.Pi / 180

// plausible refuses marks that by themselves show a perspective which no camera beside a launch has, v being the view as they tilt it: one
// that no lens has at the rod's distance, or of a camera tilted more steeply than any.
func (r *rod) plausible(v view, s Spec) error {
	const hint = "check the heights and places of the marks, and their order; if the camera was tilted so far, state tilt"
	if v.tiltGiven || r.known.u > 0 || r.lies() {
		return nil
	}
	c, u := r.marksAlone()
	u *= r.noise.best
	if _, _, known := s.Lens.focalPixels(); !known && s.RodRange.Given {
		nearer := math.Copysign(max(0, math.Abs(c)-2*u), c)
		if r.lensFor(nearer, s.RodRange.Value, v) == 0 {
			return fault.Requestf(hint, "the marks of the rod show a perspective that no lens has at a rod_range of %.4g m", s.RodRange.Value)
		}
	}
	if math.Abs(v.tilt)-2*v.tiltU > steepest {
		return fault.Requestf(hint, "the marks of the rod show the perspective of a camera tilted by %.0f degrees", math.Abs(v.tilt)*180/math.Pi)
	}
	return nil
}

// defaultWidthU is the standard uncertainty of a width read under a loupe, px: two edges
// (common practice, no source).
const defaultWidthU = 0.7

// fromWidths fits w = W (1 + c t): across the rod, one object looks as much smaller as it is
// farther ahead, and 1 + c t is the inverse of that distance. (A ball's width across the
// direction to the picture's centre is its diameter over its distance ahead, as a rod's is.)
func (r *rod) fromWidths(marks []sighting) (c, u float64, ok bool) {
	var s, st, stt, sw, stw float64
	n := 0
	for _, m := range marks {
		if m.width == 0 {
			continue
		}
		n++
		uw := m.uw
		if uw == 0 {
			uw = defaultWidthU
		}
		w, t := 1/(uw*uw), m.along/r.ts
		s, st, stt, sw, stw = s+w, st+w*t, stt+w*t*t, sw+w*m.width, stw+w*t*m.width
	}
	det := s*stt - st*st
	if n < 2 || !(det > 0) {
		return 0, 0, false
	}
	at, slope := (stt*sw-st*stw)/det, (s*stw-st*sw)/det
	if !(at > 0) {
		return 0, 0, false
	}
	c = slope / at
	// c = slope/at: cov(at, slope) = (stt, -st; -st, s)/det
	u = math.Sqrt(s+2*c*st+c*c*stt) / at / math.Sqrt(det)
	return c, u, true
}
