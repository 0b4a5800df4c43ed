package trace

import (
	"math"

	"padside/register"
)

// The error between pixels. An edge sharper than a pixel looks different at each place between two, and matching errs by a function of that
// place of period one pixel (Schreier, Braasch & Sutton, Opt. Eng. 39:2915, 2000, from memory). At rest it is one number that the
// scatter of the frames does not show; in motion it comes and goes until the way during the exposure has averaged it out. What is common
// to all frames, its two amplitudes, whoever knows the motion can find; so a point says how much of its uncertainty that
// is, and with which phase.

const (
	// PhaseU is the standard uncertainty, px, of either amplitude, of the cosine and of the sine. On stills of drawn bottle rockets, no codec between, it
	// is 0.008 (four takes) and 0.011 (five others) root mean square, each 0.001 to 0.017 (bench/finder -v, seeds 5100 on, at 1600 and 1250 a
	// second). It is kept at twice that until as many stills through JPEG have been judged: those of seeds below 510 had 0.002 to 0.025.
	PhaseU = 0.02
	// RestU is the standard uncertainty, px, of what else all frames at rest err by together, against those in motion: a wave is not the whole
	// of that function, and the reference is taken at rest. The same takes have 0.003 root mean square; it is kept at twice that for the same reason.
	RestU = 0.007
	// phaseShare is its part of leftOver: without it 0.01 px are left, of which the same takes have 0.003 to 0.006.
	phaseShare = 0.94
)

// phase is cosine and sine of 2 pi times where between pixels sighting i lies, along the axis of the picture that the flight
// follows, each times what the way during the exposure leaves of a wave of one pixel.
func (r *refiner) phase(i int, m *register.Match) [2]float64 {
	at := m.Y
	if math.Abs(r.line.Ux) > math.Abs(r.line.Uy) {
		at = m.X
	}
	blur := math.Abs(r.speed(i)) * r.exposure
	if blur >= 1 {
		return [2]float64{}
	}
	left := 1.0
	if blur > 0 {
		left = math.Sin(math.Pi*blur) / (math.Pi * blur)
	}
	s, c := math.Sincos(2 * math.Pi * at)
	return [2]float64{left * c, left * s}
}
