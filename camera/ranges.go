package camera

import "math"

// ranges is the ratio of the distances from the camera to the flight line and to the
// reference: what is seen as long as one metre of the reference is ratio metres long.
// A reference in front of a plane at range Z by dz errs by Z/(Z+dz) without it.
type ranges struct {
	given             bool
	ratio             float64
	reference, flight float64 // relative standard uncertainties
	allowance         float64 // half width of the rectangular allowance, relative
	behind            float64 // by which what is followed lies behind what is measured at, relative
}

// newRanges works the ratio out; beside says that the reference is not on the flight line.
func newRanges(s Spec, beside bool) ranges {
	if s.RodRange.Given && s.FlightRange.Given && !s.OnLine {
		return ranges{
			given: true, ratio: s.FlightRange.Value / s.RodRange.Value,
			reference: relative(s.RodRange, assumedRangeU), flight: relative(s.FlightRange, assumedRangeU),
		}
	}
	r := ranges{ratio: 1}
	if beside && !s.OnLine {
		r.allowance = rangeAllowance
	}
	return r
}

// relative is the relative standard uncertainty of m, or the assumed one.
func relative(m Measured, assumed float64) float64 {
	if m.U == 0 && !m.Exact {
		return assumed
	}
	return m.U / math.Abs(m.Value)
}

func (r ranges) apply(p projective, d *draws) projective {
	p.a *= r.ratio * (1 + r.behind) * math.Exp(r.flight*d.flight-r.reference*d.reference) * (1 + r.allowance*d.parallax)
	return p
}

// leaned turns the map for an upright flight into that of one that leans out of the plane
// of view by t (positive away from the camera, about rest). Seen from height y0 at range Z, a
// point at height h along the flight has the apparent height y in the plane through rest
//
//	y - y0 = (h cos t - y0) / (1 + h sin t / Z),  so  h = y / (cos t - (y - y0) sin t / Z):
//
// the cosine is the obliquity (5 degrees: 0.38 %), the sine the change of distance, which
// counts far more. With y = a s/(1 + c s) the result is projective again.
func (s *Scale) leaned(p projective, d *draws) projective {
	t := s.spec.Lean.Value + s.spec.Lean.U*d.lean
	if t == 0 || s.spec.OnLine { // marks on the flight line lean with it
		return p
	}
	sin, cos := math.Sincos(t)
	v := s.view.drawn(d)
	z := s.flightRange(p, v)
	level := v.level(s.line)
	y0 := 0.0
	if 1+p.c*level > nearest {
		y0 = max(-z, min(z, p.at(level)))
	}
	k := cos + y0*sin/z
	return projective{a: p.a / k, c: p.c - p.a*sin/(z*k)}
}

// leanWeight is how many flights the default lean's uncertainty is worth against the one that is seen.
const leanWeight = 4

// expectLean widens a lean that is not stated where the flight is seen to lean within the picture:
// it leans in no particular direction, so that what is seen of it, x, tells of what is not. With
// the default variance worth leanWeight flights the expected variance is (4 u^2 + x^2)/5; it never
// counts for less than the default.
func (s *Scale) expectLean() {
	r, ok := s.ref.(*rod)
	if !ok || s.leanGiven {
		return
	}
	s.seenLean = math.Acos(min(1, math.Abs(r.cos)))
	u := s.spec.Lean.U
	s.spec.Lean.U = max(u, math.Sqrt((leanWeight*u*u+s.seenLean*s.seenLean)/(leanWeight+1)))
}

// flightRange is the distance from the camera to rest: as stated, or what the lens makes
// of the scale.
func (s *Scale) flightRange(p projective, v view) float64 {
	switch {
	case s.spec.FlightRange.Given:
		return s.spec.FlightRange.Value
	case s.spec.RodRange.Given:
		return s.spec.RodRange.Value
	}
	return p.a * v.focal
}

// beside says whether the reference may be at another distance than the flight line: always for
// a rod or plane; an object of known length is the vehicle itself where the flight line
// passes within a length of its middle.
func (s *Scale) beside() bool {
	l, ok := s.ref.(*length)
	return !ok || l.apart > 1
}
