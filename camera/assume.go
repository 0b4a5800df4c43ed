package camera

import "math"

// What stands in for what the user does not state.
const (
	// defaultMarkU is the standard uncertainty of a mark set by eye under a loupe, px
	// (common practice, no source).
	defaultMarkU = 0.5
	// defaultLeanU is the standard uncertainty of the lean out of the plane of view.
	defaultLeanU = 2 * math.Pi / 180
	// rangeAllowance is the half width of the rectangular allowance for reference and
	// flight line not being equally far away.
	rangeAllowance = 0.03
	// assumedRangeU and assumedLengthU are relative standard uncertainties of a stated
	// distance or length that came without one (common practice, no source).
	assumedRangeU  = 0.005
	assumedLengthU = 0.005
	// assumedTiltU is that of a tilt or lean stated without one, rad: a phone's level.
	assumedTiltU = 1 * math.Pi / 180
	// assumedFocalU is the relative one of an engraved focal length; makers round them
	// (common practice, no source).
	assumedFocalU = 0.02
	// A camera of unknown focal length is taken to have a normal lens, as long as the
	// picture's diagonal, known to a factor of about 1.35 (common practice, no source).
	normalLensU = 0.3
	// levelU is how level a camera of unknown tilt is taken to be where nothing in the
	// picture shows its perspective better.
	levelU = 5 * math.Pi / 180
	// nearest is how small 1 + c s may become in view: the vanishing point of the flight
	// line, where it is zero, cannot be in the picture of a launch.
	nearest = 0.1
)
