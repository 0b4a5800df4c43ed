package desk

import (
	"strings"
	"testing"

	"padside/metrology"
	"padside/motion"
)

// A vehicle that was not found in more than three frames of ten has no answers; one that a hand marked here and there has them.
func TestLostSightWithholds(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name    string
		frames  []int
		marked  bool
		lost    bool
		missing int
	}{
		{"found in all", []int{5, 6, 7, 8, 9, 10, 11, 12, 13, 14}, false, false, 0},
		{"found in seven of ten", []int{5, 6, 7, 8, 9, 10, 14}, false, false, 3},
		{"found in six of ten", []int{5, 6, 7, 8, 9, 14}, false, true, 4},
		{"marked in six of ten", []int{5, 6, 7, 8, 9, 14}, true, false, 0},
		{"nowhere", nil, false, false, 0},
	} {
		var s seen
		for _, f := range c.frames {
			s.spots = append(s.spots, spot{frame: f, byHand: c.marked})
		}
		missed, _ := s.missing()
		v := 1.0
		res := &motion.Result{Draws: make([][]float64, 1), Answers: []metrology.Answer{
			{ID: motion.PeakSpeed, Status: metrology.Measured, Value: &v, U: &v, Interval: &[2]float64{0, 2}}}}
		w := s.lostSight(res)
		withheld := res.Answers[0].Status == metrology.Insufficient && res.Answers[0].Value == nil && res.Answers[0].Reason != ""
		if missed != c.missing || (len(w) == 1) != c.lost || withheld != c.lost {
			t.Errorf("%s: %d missing, warnings %v, answer %+v", c.name, missed, w, res.Answers[0])
		}
	}
}

// A mean speed between followed places needs a motion that shows what was followed; between places marked by hand it needs none.
func TestUnprovenMeanSpeeds(t *testing.T) {
	t.Parallel()
	s := seen{spots: []spot{{frame: 3}, {frame: 4, byHand: true}, {frame: 5, byHand: true}}}
	v := 1.0
	span := func(from, to int) metrology.Answer {
		return metrology.Answer{ID: motion.AverageSpeed, FromFrame: &from, ToFrame: &to, Status: metrology.Measured, Value: &v, U: &v, Interval: &[2]float64{0, 2}}
	}
	answers, draws := []metrology.Answer{span(3, 4), span(4, 5)}, [][]float64{{1}, {1}}
	s.unproven(answers, draws)
	if a := answers[0]; a.Status != metrology.Insufficient || a.Value != nil || draws[0] != nil || !strings.Contains(a.Reason, "frames 3 and 4") {
		t.Errorf("followed: %+v, draws %v", a, draws[0])
	}
	if a := answers[1]; a.Status != metrology.Measured || draws[1] == nil {
		t.Errorf("marked by hand: %+v, draws %v", a, draws[1])
	}
}
