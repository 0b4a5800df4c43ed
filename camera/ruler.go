package camera

import (
	"fmt"
	"math"
)

// A ruler that flies along: what is painted on the vehicle's barrel, a tube or the straight part of a bottle, keeps its length, and wherever along
// the flight line it is, it spans as many pixels as the map h = a s/(1 + c s) has there: (1 + c s)^2 times as many as at rest. Half of that is the distance,
// half the angle at which the ruler is seen; so an axis that does not point along the flight counts half.
const (
	rulerPower = 2.0
	// axisU is the standard uncertainty, rad, of the angle between the vehicle's axis and its flight, in the plane of the line of sight, and of
	// its change since rest: 1 degree (common practice, no source).
	axisU = 1 * math.Pi / 180
	// taperU is that of the change of the barrel's radius over its length: what is painted where it is wider lies nearer to the camera. Trace takes for straight what
	// varies in width by 2 % and 1.5 px, so that the radius may differ by half of that between its ends: by 1.1 px over the 110 px of a bottle's barrel, 0.8 px
	// over the 60 px of a motor's; rectangular, 0.006 and 0.008 (derived), and a little more for widths that are read to a pixel.
	taperU = 0.01
	// stretchU is the relative one of the barrel's own length: a drink bottle at 5 bar is 0.2 % longer than one without pressure (derived: a closed tube of
	// radius r and wall t, p r/(E t) (1/2 - nu) with 42 mm, 0.3 mm, 4 GPa and 0.4; those from memory).
	stretchU = 0.002
)

// rulerDoubt is the standard uncertainty that the ruler's length at the far end has beside its noise, relative: an axis off by a, or a taper of as much, changes it
// by a times the change of the sine of the angle at which the flight is seen, which is about reach over focal length.
func (s *Scale) rulerDoubt() float64 {
	return math.Hypot(math.Hypot(axisU, taperU)*s.reach/s.view.focal, stretchU)
}

// LeanSeen is how the flight leans out of the plane of view by what the vehicle's length tells, rad, positive away from the camera, with its
// standard uncertainty; ok is false where it tells nothing, or the lean is stated.
func (s *Scale) LeanSeen() (lean, u float64, ok bool) {
	z := &s.sized
	if s.leanGiven || !z.used || !z.ruler || z.estimate.gain[0] == 0 {
		return 0, 0, false
	}
	u = s.spec.Lean.U * math.Sqrt(max(0, 1-z.estimate.gain[0]*z.estimate.slope[0]))
	return s.spec.Lean.Value + s.spec.Lean.U*s.conditioned(s.rest()).lean, u, true
}

// leanSeen says that in words; empty where it tells nothing.
func (s *Scale) leanSeen() string {
	lean, u, ok := s.LeanSeen()
	if !ok {
		return ""
	}
	way := "away from"
	if lean < 0 {
		way = "towards"
	}
	return fmt.Sprintf("%.1f degrees %s the camera, give or take %.1f", math.Abs(lean)*180/math.Pi, way, u*180/math.Pi)
}
