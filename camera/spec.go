package camera

import "math"

// Measured is a quantity as stated by the user, SI. A stated value whose uncertainty is
// zero and not Exact is given a customary one; see the constants in assume.go.
type Measured struct {
	Value float64
	U     float64 // standard uncertainty
	Given bool    // false: not stated at all
	Exact bool    // the uncertainty was stated as zero
}

// Mark is a graduation of the rod: its height on the rod (m) and where it is seen.
type Mark struct {
	Height float64
	U      float64 // standard uncertainty of Height, m; 0: negligible beside the pixels
	At     Pixel
	AtU    *float64 // px, standard uncertainty of At along one axis; nil: the spec's MarkU

	// Width is how wide (px, across the rod) one and the same object looks at this mark, WidthU its
	// standard uncertainty (0: 0.5 px). Two marks or more with widths show the perspective.
	// Width 0: not seen.
	Width, WidthU float64
}

// PlanePoint is a known point of the plane of flight (m, any two perpendicular axes of one
// scale) and where it is seen.
type PlanePoint struct {
	X, Y float64
	At   Pixel
	AtU  *float64 // as for a Mark
}

// Lens is what is known of the camera.
type Lens struct {
	FocalLength Measured // m
	PixelPitch  Measured // m; taken as exact where it is stated without uncertainty
	Tilt        Measured // rad, up is positive
	K1, K2      float64  // radial distortion, Brown's model in units of the focal length
	Centre      *Pixel   // where the optical axis meets the picture; nil: the picture's centre
}

// Growth is how the trace saw the vehicle's apparent size change: the slope of a straight line
// through size 1 at rest, per pixel along the flight line, with its standard uncertainty from the
// noise of the sizes. What all sizes may err in common is allowed for here.
type Growth struct {
	Rate, U float64
	Known   bool
	// Ruler says that it is the length, along the flight, of what is painted on the vehicle's barrel. Else it is the size of whatever
	// was matched, along and across.
	Ruler bool
	// Wide is the width of the barrel at rest, px; 0: not known. It tells how far before its axis a round vehicle is seen, whatever else is Known.
	Wide float64
	// RatePerSkew and RateBend say how the Rate of a Ruler changes with the skew k of a shutter that reads row by row, s/px: Rate + RatePerSkew k + RateBend k^2; see
	// skew.go. Skew is what is known of k, but for what the scale itself tells, with its standard uncertainty. All of them 0: all rows are read at once.
	RatePerSkew, RateBend float64
	Skew, SkewU           float64
}

// Kinds of reference.
const (
	KindRod    = "rod"
	KindLength = "length"
	KindPlane  = "plane"
)

// Spec says where the scale comes from. Lengths in metres, angles in radians, places in
// the picture as filmed (lens distortion still in).
type Spec struct {
	Kind  string
	Marks []Mark   // kind rod
	MarkU *float64 // px, standard uncertainty of a mark's place along one axis; nil: 0.5

	RodRange    Measured // camera to reference
	FlightRange Measured // camera to flight line
	// OnLine says that the rod's marks lie on the flight line itself, such as places that the vehicle
	// passes: neither distances nor lean come between.
	OnLine bool
	// Lean is the angle between the flight and the upright plane at right angles to where the camera
	// heads, positive away from the camera; not given means 0(2) degrees. What a flight leans within
	// that plane is seen.
	Lean Measured

	Length Measured     // kind length
	Ends   [2]Pixel     // of it, at rest
	Plane  []PlanePoint // kind plane

	Lens          Lens
	Width, Height int // of the picture, px; 0: not known
}

func (s Spec) withDefaults() Spec {
	if s.MarkU == nil {
		u := defaultMarkU
		s.MarkU = &u
	}
	if !s.Lean.Given {
		s.Lean = Measured{U: defaultLeanU, Given: true}
	} else if s.Lean.U == 0 && !s.Lean.Exact {
		s.Lean.U = assumedTiltU
	}
	return s
}

// markU returns the standard uncertainty (px) of a mark with the given statement of its own.
func (s Spec) markU(own *float64) float64 {
	if own != nil {
		return *own
	}
	return *s.MarkU
}

// focalPixels is the focal length in pixels and its relative standard uncertainty; ok is false
// where focal length or pixel pitch is not stated.
func (l Lens) focalPixels() (f, u float64, ok bool) {
	if !l.FocalLength.Given || !l.PixelPitch.Given {
		return 0, 0, false
	}
	return l.FocalLength.Value / l.PixelPitch.Value,
		math.Hypot(relative(l.FocalLength, assumedFocalU), l.PixelPitch.U/l.PixelPitch.Value), true
}

// MarkResidual says how far a mark lies from where the fitted scale puts it.
type MarkResidual struct {
	Index  int     // of the mark, end or point, from 0, in the order given
	Along  float64 // px, along the rod (plane: in x), seen minus fitted
	Across float64 // px, across it (plane: in y)
}
