package desk

import (
	"fmt"
	"math"

	"padside/camera"
	"padside/fault"
	"padside/motion"
	"padside/timebase"
)

// skewed puts what the shutter may do to the vehicle's length into its growth: what is known of the
// delay of a place for each px up the flight line, with what the vehicle's length tells of it.
func (s *seen) skewed() {
	g := &s.growth
	if !g.Ruler {
		return
	}
	k, u := timebase.NewReader(s.Doubt.Scans, nil).Along(s.line.Ux, s.line.Uy)
	if s.contradicted(k, u) {
		s.Doubt.Scans = s.Unstated
		k, u = timebase.NewReader(s.Doubt.Scans, nil).Along(s.line.Ux, s.line.Uy)
	}
	if g.SkewU > 0 && u > 0 { // both are of the same delay
		w, v := 1/(u*u), 1/(g.SkewU*g.SkewU)
		k, u = (w*k+v*g.Skew)/(w+v), 1/math.Sqrt(w+v)
	}
	s.toldSkew, s.toldSkewU = g.Skew, g.SkewU
	g.Skew, g.SkewU = k, u
}

// A shutter as stated is contradicted by the vehicle's length from so many standard uncertainties on: what
// the length tells may be off by two or three of those that it states.
const contradictedBy = 6

// contradicted says whether the vehicle's length excludes what was stated of the shutter, a delay of k for each px up
// the flight line, s/px, of standard uncertainty u, and warns of it.
func (s *seen) contradicted(k, u float64) bool {
	g := &s.growth
	if s.Unstated == nil || g.SkewU == 0 || math.Abs(g.Skew-k) < contradictedBy*math.Hypot(u, g.SkewU) {
		return false
	}
	s.warnings = append(s.warnings, fault.Warning{Code: "shutter-contradicted", Message: fmt.Sprintf(
		"the vehicle changes its length with its speed as by a delay of %.3g us from row to row along the flight, and what is stated of the shutter comes to %.3g us: "+
			"it was taken for unknown; check shutter and row_time under [footage.time]", 1e6*g.Skew, 1e6*k)})
	return true
}

// common is what all frames of the launch share.
func (s *seen) common(scale *camera.Scale, reach float64) motion.Common {
	l := motion.Lateness{Doubt: s.Doubt, Line: s.line, Scale: scale, Reach: max(reach, 1)}
	if s.toldSkewU > 0 {
		l.Told = []motion.Skew{{K: s.toldSkew, U: s.toldSkewU}}
	}
	return l.Common(s.RateU)
}
