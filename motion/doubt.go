package motion

import (
	"fmt"

	"padside/fault"
	"padside/metrology"
)

// earlyShare is the probability that the vehicle moves in the first frame already from which on
// nothing is said that counts from rest.
const earlyShare = 0.05

// mostly is the share of the possible motions from which on the highest speed counts as lying at
// the first or the last frame.
const mostly = 0.5

// warnings says what is doubtful, and marks peaks that the footage only bounds: a speed that is
// highest at an edge of it; what was pulled in all of a flight that had begun before.
func (m *measurement) warnings(res *Result) []fault.Warning {
	var out []fault.Warning
	end, start := share(m.atEnd), share(m.atStart)
	if end+start > mostly {
		res.atLeast(PeakSpeed)
		out = append(out, edgeWarning(end, start))
	}
	if early := m.post.underWay(); early > earlyShare {
		res.atLeast(PeakAcceleration)
		out = append(out, fault.Warning{Code: "first-motion-before-footage", Message: fmt.Sprintf(
			"the vehicle moves in the first frame already%s: times from first motion, and gates, cannot be told, and the peak acceleration is that in view, a lower bound; let the footage begin earlier", perhaps(early))})
	}
	return out
}

// atLeast marks an answer as a lower bound.
func (res *Result) atLeast(id string) {
	for i := range res.Answers {
		if a := &res.Answers[i]; a.ID == id && a.Status == metrology.Measured {
			a.Bound = metrology.Lower
		}
	}
}

// edgeWarning says that the highest speed in view lies at an edge of it, given the shares of the
// possible motions in which it lies at the last and at the first frame. Of even motion nobody can
// tell where it lies.
func edgeWarning(end, start float64) fault.Warning {
	if start > end {
		return fault.Warning{Code: "slowing-from-the-start",
			Message: fmt.Sprintf("the vehicle is fastest in the first frame%s: its peak speed is a lower bound; let the footage begin earlier to see the peak", perhaps(start))}
	}
	what := "the vehicle still gains speed in the last frame"
	if end <= surely {
		what = "the highest speed in view lies at the last frame" + perhaps(end) + ", and whether the vehicle still gains speed there cannot be told"
	}
	return fault.Warning{Code: "still-accelerating",
		Message: what + ": its peak speed is a lower bound; film a longer stretch of the flight to see the peak"}
}

// share is how many of the draws have a property.
func share(draws []bool) float64 {
	n := 0
	for _, b := range draws {
		if b {
			n++
		}
	}
	return float64(n) / float64(len(draws))
}

// surely is the probability from which on no odds are named.
const surely = 0.95

// perhaps adds the odds of what is not sure.
func perhaps(p float64) string {
	if p > surely {
		return ""
	}
	return fmt.Sprintf(" in %.0f %% of the possible motions", 100*p)
}

// unfilmed says why an answer that counts from rest is none, where the vehicle may move in the
// first frame already; "" where it does not.
func (m *measurement) unfilmed(q *question) string {
	early := m.post.underWay()
	if q.since == nowhere || early <= earlyShare {
		return ""
	}
	begins := "first motion is before the footage"
	if q.since == restPlace {
		begins = "the place at rest, from which heights count, was not filmed"
	}
	return fmt.Sprintf("the vehicle moves in the first frame already%s: %s", perhaps(early), begins)
}
