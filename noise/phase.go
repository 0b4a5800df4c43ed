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
