package pairs

import (
	"fmt"

	"padside/metrology"
	"padside/motion"
)

// mostFall is how many times gravity a fall may seem to gain speed, for what a scale that is off, and
// the noise of a short window, add: the sound falls of bench/world reach 1.18, off by two half widths
// (development seeds 70000 to 70305).
const mostFall = 1.3

const gravityNear = 9.8 // m/s2

// outfalls says why a peak acceleration is too high for what is let go: nothing but gravity pulls it.
// The trace has gone over to something else, or scale or rate are wrong.
func (g *guard) outfalls(peak metrology.Answer) string {
	in := g.Motion
	if in.Kind != motion.Dropped && !in.Questions.DropCheck {
		return ""
	}
	gravity := in.Questions.Gravity.Value
	if gravity <= 0 {
		gravity = gravityNear
	}
	if least := peak.Interval[0]; least > mostFall*gravity {
		return fmt.Sprintf("what is let go gains speed by gravity, %s m/s2, and the fitted motion by %s m/s2 or more: the trace goes astray in some frames, or scale or rate are wrong",
			figure(gravity), figure(least))
	}
	return ""
}
