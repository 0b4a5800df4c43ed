package desk

import (
	"padside/explain"
	"padside/metrology"
	"padside/predict"
)

// impossible fills the sheet of a launch that only an impossible flight comes near: what is asked of the inputs has no value, and the residuals
// and the motion of that flight show where it goes wrong.
func (s *ExplainSheet) impossible(e *explained, res *explain.Result, lane *Lane) {
	s.unfitted(e, res)
	s.thrust(e, res, lane)
	near := res.Launches[0].Flight
	if whole, err := e.model.Fly(e.inputs(0, res.Values)); err == nil {
		near = whole.Flight
	}
	for _, p := range fromFirstMotion(near) {
		s.Phases = append(s.Phases, FittedPhase{Phase: predict.Phase{Name: p.Name, From: p.From, To: p.To}})
	}
	s.follow(near)
}

// unfitted are the unknowns of a fit that no possible flight comes near, as answers.
func (s *ExplainSheet) unfitted(e *explained, res *explain.Result) {
	s.Correlation = [][]float64{}
	for _, u := range res.Unknowns {
		s.Fitted = append(s.Fitted, u.Key)
		s.Answers = append(s.Answers, metrology.WithoutValue(metrology.Answer{ID: u.Key, Unit: e.unit(u.Key)}, metrology.Insufficient, "only an impossible flight comes near to what was filmed"))
	}
}
