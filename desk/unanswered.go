package desk

import (
	"slices"

	"padside/fault"
	"padside/metrology"
)

// Unanswered is what there is to say where not one question was answered; nil where one was.
func (m *Measurement) Unanswered() error {
	var reasons []string
	count := map[string]int{}
	for _, a := range m.Sheet.Answers {
		if a.Status == metrology.Measured {
			return nil
		}
		if count[a.Reason]++; count[a.Reason] == 1 {
			reasons = append(reasons, a.Reason)
		}
	}
	why := ""
	if len(reasons) > 0 {
		why = ": " + slices.MaxFunc(reasons, func(a, b string) int { return count[a] - count[b] })
	}
	return fault.NoAnswerf("mark the vehicle by hand where it can be seen ([trace] marks), or ask for the mean speed between two pictures that show it ([questions] average_speeds)",
		"%s: the footage answers none of the questions%s", m.Launch.Path, why)
}
