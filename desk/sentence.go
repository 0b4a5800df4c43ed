package desk

import (
	"fmt"
	"math"
	"strings"

	"padside/metrology"
	"padside/motion"
	"padside/units"
)

// view words an answer.
func (r reader) view(a metrology.Answer) AnswerView {
	u := r.unit(a)
	v := AnswerView{Answer: a, Label: r.name(a)}
	v.Text, v.IntervalText = worded(a, u)
	v.Text = strings.TrimSuffix(v.Text, " *") // Doubt says it in words
	if a.Value != nil {
		v.IntervalText += " " + u.Symbol
	}
	v.Sentence = r.sentence(a, u, v.Text)
	if a.Extrapolated {
		v.Doubt = "the model extrapolates here"
	}
	return v
}

// sentence says the answer as a person would.
func (r reader) sentence(a metrology.Answer, u units.Unit, value string) string {
	if a.Value == nil {
		return fmt.Sprintf("%s: %s", r.name(a), value)
	}
	give := give(a, u)
	switch a.ID {
	case motion.FirstMotion:
		return fmt.Sprintf("Left rest %s after frame 0%s.", value, give)
	case motion.TimeToSpeed:
		return fmt.Sprintf("%s after %s%s.", r.speedText(*a.Speed), value, give)
	case motion.MeanAccelerationToSpeed:
		return fmt.Sprintf("%s on average up to %s%s.", value, r.speedText(*a.Speed), give)
	case motion.PeakSpeed:
		return fmt.Sprintf("%s was the highest speed in view%s.", value, give)
	case motion.PeakAcceleration:
		return fmt.Sprintf("%s was the hardest pull over %s%s.", value, timeText(*a.Window), give)
	case motion.GateCrossing:
		return fmt.Sprintf("Passed %s %s after frame 0%s.", r.gateText(*a.Height), value, give)
	case motion.GateSpeed:
		return fmt.Sprintf("%s at %s%s.", value, r.gateText(*a.Height), give)
	case motion.SplitSpeed:
		return fmt.Sprintf("%s on average from %s to %s%s.", value, r.gateText(*a.From), r.gateText(*a.To), give)
	case motion.ViewTime:
		return fmt.Sprintf("In view for %s%s.", value, give)
	case motion.FreeFallAcceleration:
		if a.Expected == nil {
			return fmt.Sprintf("Fell with %s%s.", value, give)
		}
		return fmt.Sprintf("Fell with %s%s; local gravity is %.4f m/s2.", value, give, *a.Expected)
	}
	return fmt.Sprintf("%s: %s%s.", r.name(a), value, give)
}

// lopsided is the ratio of an interval's longer arm to its shorter from which both ends are said.
const lopsided = 1.5

// give says the interval: half of it where it lies evenly about the value, else its ends.
func give(a metrology.Answer, u units.Unit) string {
	lo, hi := *a.Value-a.Interval[0], a.Interval[1]-*a.Value
	if lo <= 0 || hi <= 0 || math.Max(lo, hi) > lopsided*math.Min(lo, hi) {
		_, ends := worded(a, u)
		return ", between " + strings.Replace(ends, " to ", " and ", 1)
	}
	half := u.DeltaFromSI((lo + hi) / 2)
	sd := u.DeltaFromSI(*a.U)
	place, ok := metrology.Place(sd, metrology.Digits)
	if !ok {
		return ""
	}
	return fmt.Sprintf(", give or take %s %s", metrology.Round(half, place), u.Symbol)
}

// advice says in one line what would narrow the chief answer's interval most.
func (r reader) advice(answers []metrology.Answer) string {
	a := chiefOf(answers)
	if a == nil || len(a.Budget) == 0 {
		return ""
	}
	top := a.Budget[0]
	help := motion.Remedy(top.Source)
	if help == "" {
		return ""
	}
	left := math.Sqrt(math.Max(0, 1-top.Share))
	return fmt.Sprintf("What limits %s most is the %s (%.0f %% of the variance); without it the interval would be %.2g times as wide: %s.",
		r.name(*a), top.Source, 100*top.Share, left, help)
}

// chiefOrder ranks the answers a launch is known by.
var chiefOrder = [...]string{motion.FreeFallAcceleration, motion.TimeToSpeed, motion.PeakSpeed, motion.MeanAccelerationToSpeed, motion.PeakAcceleration}

// chiefOf returns the answer that matters most, nil where none was measured: of the times to a speed, the one to the highest.
func chiefOf(answers []metrology.Answer) *metrology.Answer {
	for _, id := range chiefOrder {
		var best *metrology.Answer
		for i := range answers {
			if a := &answers[i]; a.ID == id && a.Value != nil && (best == nil || a.Lane == best.Lane && faster(a, best)) {
				best = a
			}
		}
		if best != nil {
			return best
		}
	}
	return nil
}

// faster says whether a speaks of a higher speed than b.
func faster(a, b *metrology.Answer) bool {
	return a.Speed != nil && b.Speed != nil && *a.Speed > *b.Speed
}

// mostChiefs is how many numbers a card shows for each lane.
const mostChiefs = 3

// chiefsOf picks the few numbers a launch is known by: of each kind the chief one, for each lane.
func chiefsOf(answers []AnswerView) []Chief {
	out := []Chief{}
	perLane := map[int]int{}
	for _, id := range chiefOrder {
		for i, a := range answers {
			if a.ID != id || a.Value == nil || perLane[a.Lane] >= mostChiefs || !chiefOfKind(answers, i) {
				continue
			}
			perLane[a.Lane]++
			out = append(out, Chief{ID: a.ID, Lane: a.Lane, Label: a.Label, Text: a.Text, Interval: a.IntervalText,
				Value: *a.Value, Low: a.Interval[0], High: a.Interval[1], Unit: a.Unit})
		}
	}
	return out
}

// chiefOfKind says whether no other answer of the kind and lane of answer i speaks of a higher speed, or comes before it.
func chiefOfKind(answers []AnswerView, i int) bool {
	a := &answers[i].Answer
	for k := range answers {
		b := &answers[k].Answer
		if k != i && b.ID == a.ID && b.Lane == a.Lane && b.Value != nil && (faster(b, a) || k < i && !faster(a, b)) {
			return false
		}
	}
	return true
}
