package desk

import (
	"fmt"
	"slices"

	"padside/fault"
	"padside/metrology"
	"padside/motion"
)

// mostMissing is the share of the frames from the first place found to the last in which the vehicle may be missing: if more are, what
// was found in the others was mostly something else (docs/measured.md, "Footage as people film it").
const mostMissing = 0.3

// missing is in how many of the frames from the first spot to the last nothing was found. Where all places are marked by hand nothing
// was looked for, and nothing is missing.
func (s *seen) missing() (missed, frames int) {
	n := len(s.spots)
	if n == 0 || s.byHand() {
		return 0, n
	}
	frames = s.spots[n-1].frame - s.spots[0].frame + 1
	return frames - n, frames
}

// lostSight withdraws the answers of a vehicle that was lost too often.
func (s *seen) lostSight(r *motion.Result) []fault.Warning {
	missed, frames := s.missing()
	if float64(missed) <= mostMissing*float64(frames) {
		return nil
	}
	reason := fmt.Sprintf("the vehicle was not found in %d of %d frames, so the places found may be something else", missed, frames)
	withhold(r, reason)
	return []fault.Warning{{Code: "trace-mostly-lost", Message: fmt.Sprintf("lane %d: %s; mark it by hand where it can be seen", s.lane, reason)}}
}

// withhold takes the values of all measured answers back for a reason, but for those of some ids.
func withhold(r *motion.Result, reason string, but ...string) {
	for i := range r.Answers {
		a := &r.Answers[i]
		if a.Status == metrology.Measured && !slices.Contains(but, a.ID) {
			*a = metrology.WithoutValue(*a, metrology.Insufficient, reason)
			r.Draws[i] = nil
		}
	}
}
