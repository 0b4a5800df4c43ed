package noise

import "math"

// Phase is where between pixels a point lies: cosine and sine of 2 pi times its place along the
// flight, in pixels, each times what motion blur leaves of them.
//
// An edge that is sharper than a pixel is not drawn alike at each place between two: matching it
// errs by a function of that place of period one pixel, q0 cos + q1 sin to first order, some
// hundredths of a pixel (the bias that interpolation and aliasing leave; Schreier, Braasch &
// Sutton, Opt. Eng. 39:2915, 2000, from memory). All frames at rest share one such error, whatever
// their scatter says, and those just after first motion have others. The two amplitudes q are
// unknowns of the launch, estimated with the rest.
type Phase [2]float64

// Size is the standard uncertainty of the error between pixels, of amplitudes that each have the
// standard uncertainty u.
func (p Phase) Size(u float64) float64 { return u * math.Hypot(p[0], p[1]) }

// Less is the phase of the difference of two places.
func (p Phase) Less(q Phase) Phase { return Phase{p[0] - q[0], p[1] - q[1]} }

// MeanPhase is the mean of some phases, zero of none. It is that of all frames at rest. The phase of
// a frame is taken where it was matched, and errs with its height: of frames that differ by their
// noise alone, two amplitudes of a sixth of a pixel, 1/(2 pi), would make of each height what it was
// before the noise, and of the noise nothing. Where the camera moves, too, they do not show more
// than their mean and a scatter that is noise like other.
func MeanPhase(of []Phase) (mean Phase) {
	for _, p := range of {
		mean[0], mean[1] = mean[0]+p[0]/float64(len(of)), mean[1]+p[1]/float64(len(of))
	}
	return mean
}
