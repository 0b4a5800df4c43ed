package desk

import (
	"context"
	"fmt"
	"math"

	"padside/explain"
	"padside/fault"
	"padside/predict"
)

// InertiaOdds says whether the footage tells if the inertia of the water counts.
type InertiaOdds struct {
	InModel bool    `json:"in_model"` // the fitted model has it
	LnOdds  float64 `json:"ln_odds"`  // natural logarithm of how many times as probable what was filmed is with it as without
	Text    string  `json:"text"`
}

// telling is the logarithm of the odds from which one of two models is said to be the better: 20 to 1.
var telling = math.Log(20)

// inertia weighs the bottle's model against the same one with the inertia of the water, or without it where it has it. A model that cannot be fitted at
// all is not weighed.
func (s *ExplainSheet) inertia(ctx context.Context, e *explained, in explain.Input, res *explain.Result) error {
	if e.model.File.Kind != "bottle" {
		return nil
	}
	file := *e.model.File
	file.WaterInertia = !file.WaterInertia
	other := *e
	other.model = predict.Model{File: &file}
	in.Model, in.Progress = other.fly, nil
	evidence, fits, err := explain.Weigh(ctx, in)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil || !fits && !res.Test.Fits {
		return nil
	}
	odds := evidence - res.Evidence
	if !file.WaterInertia {
		odds = -odds
	}
	s.Inertia = &InertiaOdds{InModel: !file.WaterInertia, LnOdds: odds}
	s.Inertia.word()
	if better := odds > telling; math.Abs(odds) > telling && better != s.Inertia.InModel {
		s.Warnings = append(s.Warnings, fault.Warning{Code: "water-inertia", Message: fmt.Sprintf("%s: set water_inertia = %v in the flight file", s.Inertia.Text, better)})
	}
	return nil
}

// word says what the odds tell.
func (o *InertiaOdds) word() {
	times := "more than 1000"
	if n := math.Exp(math.Abs(o.LnOdds)); n < 1000 {
		times = fmt.Sprintf("%.2g", n)
	}
	switch {
	case o.LnOdds > telling:
		o.Text = fmt.Sprintf("what was filmed is %s times as probable with the inertia of the water as without it", times)
	case o.LnOdds < -telling:
		o.Text = fmt.Sprintf("what was filmed is %s times as probable without the inertia of the water as with it", times)
	default:
		has := "leaves it out"
		if o.InModel {
			has = "has it"
		}
		o.Text = fmt.Sprintf("the data do not tell whether the inertia of the water counts (odds of %s to 1; 20 would tell); the flight file %s", times, has)
	}
}
