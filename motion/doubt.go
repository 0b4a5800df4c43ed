package motion

import (
	"fmt"
	"slices"

	"padside/fault"
	"padside/metrology"
)

// warnings says what is doubtful, and marks the answers that rest on extrapolation.
func (m *measurement) warnings(res *Result) []fault.Warning {
	var out []fault.Warning
	end := 0
	for _, b := range m.atEnd {
		if b {
			end++
		}
	}
	if float64(end) > 0.5*float64(len(m.atEnd)) {
		out = append(out, fault.Warning{Code: "still-accelerating",
			Message: "the vehicle still gains speed in the last frame: its peak speed is a lower bound; film a longer stretch of the flight to see the peak"})
	}
	return append(out, m.extrapolation(res)...)
}

// sinceFirstMotion are the answers that count from first motion.
var sinceFirstMotion = [...]string{FirstMotion, TimeToSpeed, MeanAccelerationToSpeed, ViewTime}

// How often first motion may lie before the first frame, and how uncertain it may then be, as a
// share of the time in view, before it is not reported at all.
const (
	earlyShare  = 0.05
	earlySpread = 0.1
)

// extrapolation marks the answers that count from a first motion before the footage begins,
// and withdraws them where that is a guess.
func (m *measurement) extrapolation(res *Result) []fault.Warning {
	start := m.in.Observations[0].T
	view := m.in.Observations[len(m.in.Observations)-1].T - start
	var first *metrology.Answer
	early := 0
	for i := range res.Answers {
		if a := &res.Answers[i]; a.ID == FirstMotion && a.Status == metrology.Measured {
			first = a
			for _, t := range res.Draws[i] {
				if t < start {
					early++
				}
			}
			early = 100 * early / len(res.Draws[i])
		}
	}
	if first == nil || float64(early) < 100*earlyShare {
		return nil
	}
	before, far := start-first.Interval[0], *first.U > earlySpread*view
	for i := range res.Answers {
		a := &res.Answers[i]
		if a.Status != metrology.Measured || !slices.Contains(sinceFirstMotion[:], a.ID) {
			continue
		}
		if a.Extrapolated = true; far {
			*a = metrology.Answer{ID: a.ID, Lane: a.Lane, Unit: a.Unit, Speed: a.Speed, Status: metrology.Insufficient,
				Reason: "the vehicle moves in the first frame already: first motion is before the footage"}
			res.Draws[i] = nil
		}
	}
	if far {
		return []fault.Warning{{Code: "first-motion-before-footage", Message: "the vehicle moves in the first frame already: times from first motion cannot be told; let the footage begin earlier"}}
	}
	return []fault.Warning{{Code: "first-motion-extrapolated", Message: fmt.Sprintf(
		"first motion may lie before the first frame (in %d %% of the possible motions, by up to %.3g s): times from first motion rest on extrapolation; let the footage begin earlier", early, before)}}
}
