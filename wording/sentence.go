package wording

import (
	"fmt"
	"math"
	"strings"

	"padside/metrology"
	"padside/motion"
	"padside/units"
)

// Word words an answer.
func (r Reader) Word(a metrology.Answer) Answer {
	u := r.UnitOf(a)
	v := Answer{Answer: a, Label: r.Name(a)}
	v.Text, v.IntervalText = Text(a, u)
	if a.Value != nil {
		v.IntervalText += " " + u.Symbol
	}
	v.Sentence = r.sentence(a, u, v.Text)
	return v
}

// sentence says the answer as a person would.
func (r Reader) sentence(a metrology.Answer, u units.Unit, value string) string {
	if a.Value == nil {
		return fmt.Sprintf("%s: %s", r.Name(a), value)
	}
	give := give(a, u)
	switch a.ID {
	case motion.FirstMotion:
		return fmt.Sprintf("Left rest %s after frame 0%s.", value, give)
	case motion.TimeToSpeed:
		return fmt.Sprintf("%s after %s%s.", r.SpeedText(*a.Speed), value, give)
	case motion.MeanAccelerationToSpeed:
		return fmt.Sprintf("%s on average up to %s%s.", value, r.SpeedText(*a.Speed), give)
	case motion.PeakSpeed:
		if a.Bound != "" {
			return fmt.Sprintf("Reached %s%s; the peak may lie outside the footage.", value, give)
		}
		return fmt.Sprintf("%s was the highest speed in view%s.", value, give)
	case motion.PeakAcceleration:
		return fmt.Sprintf("%s was the hardest pull over %s%s.", value, TimeText(*a.Window), give)
	case motion.GateCrossing:
		return fmt.Sprintf("Passed %s %s after frame 0%s.", r.GateText(*a.Height), value, give)
	case motion.GateSpeed:
		return fmt.Sprintf("%s at %s%s.", value, r.GateText(*a.Height), give)
	case motion.SplitSpeed:
		return fmt.Sprintf("%s on average from %s to %s%s.", value, r.GateText(*a.From), r.GateText(*a.To), give)
	case motion.AverageSpeed:
		return fmt.Sprintf("%s on average from frame %d to frame %d%s.", value, *a.FromFrame, *a.ToFrame, give)
	case motion.ViewTime:
		return fmt.Sprintf("In view for %s%s.", value, give)
	case motion.FreeFallAcceleration:
		if a.Expected == nil {
			return fmt.Sprintf("Fell with %s%s.", value, give)
		}
		return fmt.Sprintf("Fell with %s%s; local gravity is %.4f m/s2.", value, give, *a.Expected)
	}
	return fmt.Sprintf("%s: %s%s.", r.Name(a), value, give)
}

// Lopsided is the ratio of an interval's longer arm to its shorter from which both ends are said.
const Lopsided = 1.5

// give says the interval: half of it where it lies evenly about the value, else its ends.
func give(a metrology.Answer, u units.Unit) string {
	lo, hi := *a.Value-a.Interval[0], a.Interval[1]-*a.Value
	if lo <= 0 || hi <= 0 || math.Max(lo, hi) > Lopsided*math.Min(lo, hi) {
		_, ends := Text(a, u)
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

// Advice says in one line what would narrow the chief answer's interval most.
func (r Reader) Advice(answers []metrology.Answer) string {
	a := ChiefOf(answers)
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
		r.Name(*a), top.Source, 100*top.Share, left, help)
}
