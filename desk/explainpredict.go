package desk

import (
	"context"
	"fmt"
	"math"

	"padside/explain"
	"padside/flight"
	"padside/metrology"
	"padside/predict"
)

// fitted are the unknowns as answers.
func (s *ExplainSheet) fitted(e *explained, res *explain.Result) error {
	for j, u := range res.Unknowns {
		a := metrology.Answer{ID: u.Key, Unit: e.unit(u.Key)}
		s.Fitted = append(s.Fitted, u.Key)
		if f := res.Fitted[j]; u.U == 0 && !f.Told {
			a = metrology.WithoutValue(a, metrology.Insufficient, "the footage says nearly nothing of it")
		} else {
			draws := make([]float64, len(res.Draws))
			for i, d := range res.Draws {
				draws[i] = d[j]
			}
			var err error
			if a, err = predict.FromDraws(a, f.Value, draws); err != nil {
				return err
			}
			a.Budget = f.Budget
		}
		s.Answers = append(s.Answers, a)
	}
	return nil
}

// explainedFlights is how many draws of the fit are flown whole.
const explainedFlights = 600

// predict flies the fitted model and draws of it, and says what they reach.
func (s *ExplainSheet) predict(ctx context.Context, e *explained, res *explain.Result, o ExplainOptions) error {
	best, err := e.model.Fly(e.inputs(0, res.Values))
	if err != nil {
		return fmt.Errorf("fly the fitted model: %w", err)
	}
	rod := e.base[0].Value["rod_length"]
	n := min(explainedFlights, len(res.Draws))
	flown := make([]*[len(predict.Reached)]float64, n)
	phases := make([][]flight.Phase, n)
	err = predict.FlyAll(ctx, n, o.progress, func(i int) {
		if f, err := e.model.Fly(e.inputs(0, res.Draws[i*len(res.Draws)/n])); err == nil {
			v := f.Values(rod)
			flown[i], phases[i] = &v, fromFirstMotion(f.Flight)
		}
	})
	if err != nil {
		return err
	}
	values := best.Values(rod)
	for k, p := range predict.Reached {
		a := metrology.Answer{ID: p.ID, Unit: p.Unit}
		if math.IsNaN(values[k]) {
			continue // of another kind of vehicle
		}
		if a, err = predict.FromDraws(a, values[k], predict.Column(flown, k)); err != nil {
			return err
		}
		s.Answers = append(s.Answers, a)
	}
	s.phases(best.Flight, phases)
	s.follow(best.Flight)
	s.Warnings = append(s.Warnings, best.Flight.Warnings...)
	s.Warnings = append(s.Warnings, e.model.Cautions(best, e.inputs(0, res.Values))...)
	return nil
}

// follow takes over the motion of a flight, time 0 at first motion.
func (s *ExplainSheet) follow(f *flight.Flight) {
	for _, h := range predict.History(f) {
		h.T -= f.FirstMotion
		s.History = append(s.History, h)
	}
}

// fromFirstMotion are a flight's phases with times from first motion.
func fromFirstMotion(f *flight.Flight) []flight.Phase {
	var out []flight.Phase
	for _, p := range f.Phases() {
		if p.Name != flight.Held {
			out = append(out, flight.Phase{Name: p.Name, From: p.From - f.FirstMotion, To: p.To - f.FirstMotion})
		}
	}
	return out
}

// phases lists the fitted flight's phases and how sure their ends are.
func (s *ExplainSheet) phases(best *flight.Flight, drawn [][]flight.Phase) {
	for _, p := range fromFirstMotion(best) {
		out := FittedPhase{Phase: predict.Phase{Name: p.Name, From: p.From, To: p.To}}
		var ends []float64
		for _, d := range drawn {
			for _, q := range d {
				if q.Name == p.Name {
					ends = append(ends, q.To)
				}
			}
		}
		if iv, err := metrology.ShortestInterval(ends, 0.95); err == nil {
			out.Ends = &[2]float64{math.Min(iv.Lo, p.To), math.Max(iv.Hi, p.To)}
		}
		s.Phases = append(s.Phases, out)
	}
}

// withhold takes the values out of answers that a model gave which does not fit. What was measured without it stays.
func (s *ExplainSheet) withhold() {
	for i, a := range s.Answers {
		if a.ID == coastDragArea || a.ID == "stored_energy" {
			continue
		}
		s.Answers[i] = metrology.WithoutValue(a, metrology.Insufficient, "the model does not fit what was filmed")
	}
}
