package motion

import (
	"fmt"

	"padside/fault"
	"padside/metrology"
)

// earlyShare is the probability that the vehicle moves in the first frame already from which on nothing is said that counts from rest.
const earlyShare = 0.05

// mostly is the share of the possible motions from which on speed counts as still gained in the last frame.
const mostly = 0.5

// warnings says what is doubtful, and marks a peak speed that the footage only bounds.
func (m *measurement) warnings(res *Result) []fault.Warning {
	var out []fault.Warning
	if m.stillGaining() {
		for i := range res.Answers {
			if a := &res.Answers[i]; a.ID == PeakSpeed && a.Status == metrology.Measured {
				a.Bound = metrology.Lower
			}
		}
		out = append(out, fault.Warning{Code: "still-accelerating",
			Message: "the vehicle still gains speed in the last frame: its peak speed is a lower bound; film a longer stretch of the flight to see the peak"})
	}
	if early := m.post.underWay(); early > earlyShare {
		out = append(out, fault.Warning{Code: "first-motion-before-footage", Message: fmt.Sprintf(
			"the vehicle moves in the first frame already%s: times from first motion, and gates, cannot be told; let the footage begin earlier", perhaps(early))})
	}
	return out
}

// stillGaining says whether the highest speed lies at the last frame.
func (m *measurement) stillGaining() bool {
	end := 0
	for _, b := range m.atEnd {
		if b {
			end++
		}
	}
	return float64(end) > mostly*float64(len(m.atEnd))
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

// unfilmed says why an answer that counts from rest is none, where the vehicle may move in the first frame already; "" where it does not.
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
