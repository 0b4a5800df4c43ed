package wording

import (
	"padside/metrology"
	"padside/motion"
)

// Chief is one of the few numbers a launch is known by.
type Chief struct {
	ID       string  `json:"id"`
	Lane     int     `json:"lane"`
	Label    string  `json:"label"`
	Text     string  `json:"text"`
	Interval string  `json:"interval"`
	Value    float64 `json:"value"` // SI, for sorting
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
	Unit     string  `json:"unit"`
}

// chiefOrder ranks the answers a launch is known by.
var chiefOrder = [...]string{motion.FreeFallAcceleration, motion.TimeToSpeed, motion.PeakSpeed, motion.MeanAccelerationToSpeed, motion.PeakAcceleration, motion.AverageSpeed}

// ChiefOf returns the answer that matters most, nil where none was measured: of the times to a speed, the one to the highest.
func ChiefOf(answers []metrology.Answer) *metrology.Answer {
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

// Chiefs picks the few numbers a launch is known by: of each kind the chief one, for each lane.
func Chiefs(answers []Answer) []Chief {
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
func chiefOfKind(answers []Answer, i int) bool {
	a := &answers[i].Answer
	for k := range answers {
		b := &answers[k].Answer
		if k != i && b.ID == a.ID && b.Lane == a.Lane && b.Value != nil && (faster(b, a) || k < i && !faster(a, b)) {
			return false
		}
	}
	return true
}
