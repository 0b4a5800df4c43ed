package trace

import (
	"fmt"
	"math"

	"padside/fault"
)

// mostLost is how many frames may be lost between the first and the last point without a word.
const mostLost = 2

// doubts says what is doubtful about a lane's path, in words for the user.
func (f *follower) doubts(l *lane, p *Path) []fault.Warning {
	if len(p.Points) == 0 {
		return nil
	}
	var out []fault.Warning
	warn := func(code, format string, args ...any) {
		out = append(out, fault.Warning{Code: code, Message: fmt.Sprintf("lane %d: ", p.Lane) + fmt.Sprintf(format, args...)})
	}
	first, last := p.Points[0].Frame, p.Points[len(p.Points)-1].Frame
	lost, coarse := 0, 0
	for _, d := range p.Dropped {
		if d.Frame > first && d.Frame < last {
			lost++
		}
	}
	for _, q := range p.Points {
		if q.Source == SourceCoarse {
			coarse++
		}
	}
	if lost > mostLost || lost > 0 && f.few() {
		warn("trace-gaps", "the vehicle was not found in %d of the %d frames from %d to %d; they are left out, mark it there by hand where it can be seen",
			lost, last-first+1, first, last)
	}
	if coarse > 0 {
		warn("trace-coarse", "%d of %d points come from the coarse search alone, good to a pixel or two: the vehicle changed its looks or was held; a box around a part with clear edges may help",
			coarse, len(p.Points))
	}
	if l.torn {
		warn("trace-two-places", "begun a pixel or three off, matching ends at another place in many frames: a band of paint looks like the next, or the background like the vehicle; choose a part with one clear edge")
	}
	if f.few() && !l.leapt && l.strides() {
		warn("trace-leaps", "the vehicle moves by more than half of the followed part from picture to picture, and its silhouette does not tell it from the background: places may be off by a band of its paint; mark the nose by hand in each picture")
	}
	if end := f.o.To - 1; !l.left && !l.turned && end-last > mostMissing {
		warn("trace-lost", "the vehicle was lost after frame %d, %d frames before the end; end the footage there, or mark it by hand", last, end-last)
	}
	return out
}

// strides reports whether the lane moved by more than half of its patch in a step.
func (l *lane) strides() bool {
	for i := 1; i < len(l.sights); i++ {
		if math.Hypot(l.sights[i].x-l.sights[i-1].x, l.sights[i].y-l.sights[i-1].y) > float64(max(l.patch.W, l.patch.H))/2 {
			return true
		}
	}
	return false
}
