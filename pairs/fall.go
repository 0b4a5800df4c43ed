package pairs

import (
	"fmt"

	"padside/metrology"
	"padside/motion"
)

// What is let go gains speed as gravity makes it: at first by all of it, but for the air that it
// pushes aside, and never by more. Beyond these shares of gravity the trace has gone over to something
// else, or scale or rate are wrong, and nothing of the fit stands.
const (
	// mostFall leaves room for a scale that is off and for the noise of a short window: the sound falls
	// of bench/world reach 1.18 (development seeds 70000 to 70305).
	mostFall = 1.3
	// leastFall leaves room for a ball of foam a hundredth as dense as water, which begins to fall at 0.83 of
	// gravity (derived: it is borne up by an eighth of its weight, and half of the air it displaces goes
	// with it, the added mass of a sphere), and for the same errors.
	leastFall = 0.7
	// evenFall is where a fall is faster than any: gravity differs by 0.4 % over the earth.
	evenFall = 1.005
)

const gravityNear = 9.8 // m/s2

// falls reports whether what flies was let go, and the gravity that pulls it, m/s2.
func (g *guard) falls() (gravity float64, ok bool) {
	in := g.Motion
	if in.Kind != motion.Dropped && !in.Questions.DropCheck {
		return 0, false
	}
	if gravity = in.Questions.Gravity.Value; gravity <= 0 {
		gravity = gravityNear
	}
	return gravity, true
}

// outfalls says why a peak acceleration is none of what is let go: too high or, if it was seen to begin, too low.
func (g *guard) outfalls(peak metrology.Answer, begins bool) string {
	gravity, falls := g.falls()
	least, most := peak.Interval[0], peak.Interval[1]
	switch {
	case !falls:
	case least > mostFall*gravity:
		return fmt.Sprintf("what is let go gains speed by gravity, %s m/s2, and the fitted motion by %s m/s2 or more: the trace goes astray in some frames, or scale or rate are wrong",
			figure(gravity), figure(least))
	case begins && most < leastFall*gravity:
		return fmt.Sprintf("what is let go gains speed by gravity, %s m/s2, and the fitted motion by %s m/s2 at most: what was followed is not what falls, or scale or rate are wrong",
			figure(gravity), figure(most))
	}
	return ""
}

// overfalls says why a peak acceleration, though near gravity, cannot be right by itself: no fall exceeds it.
func (g *guard) overfalls(peak metrology.Answer) string {
	gravity, falls := g.falls()
	if !falls || peak.Interval[0] <= evenFall*gravity {
		return ""
	}
	return fmt.Sprintf("nothing that is let go gains speed faster than by gravity, %s m/s2, and the fitted motion does by %s m/s2 or more: trace or scale are off by more than is known",
		figure(gravity), figure(peak.Interval[0]))
}
