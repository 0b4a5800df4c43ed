package desk

import (
	"context"

	"padside/fault"
	"padside/flight"
	"padside/logbook"
	"padside/metrology"
)

// FlightSheet is a predicted flight, in the shape of the contract. SI.
type FlightSheet struct {
	Format   string             `json:"format"` // "padside-flight"
	Version  int                `json:"version"`
	Program  string             `json:"program"`
	Seed     uint64             `json:"seed"`
	Title    string             `json:"title"`
	Phases   []FlightPhase      `json:"phases"`
	Answers  []metrology.Answer `json:"answers"`
	History  []FlightState      `json:"history"`
	Sweep    *FlightSweep       `json:"sweep,omitempty"`
	Warnings []fault.Warning    `json:"warnings"`
}

// FlightPhase is one part of the flight, s.
type FlightPhase struct {
	Name string  `json:"name"`
	From float64 `json:"from_s"`
	To   float64 `json:"to_s"`
}

// FlightState is the motion at one instant of the best estimate.
type FlightState struct {
	T            float64 `json:"t"`
	Height       float64 `json:"height"`
	Speed        float64 `json:"speed"`
	Acceleration float64 `json:"acceleration"`
	Thrust       float64 `json:"thrust"`
}

// JSON returns the sheet with a final line break.
func (s *FlightSheet) JSON() ([]byte, error) {
	return indented(s)
}

// PredictOptions says what to predict. The zero value predicts one flight.
type PredictOptions struct {
	Options
	Sweep *SweepRequest
}

// predictDraws is how many flights show the spread from uncertain inputs: a standard deviation to 2 %.
const predictDraws = 1000

// historyRows is how many instants of the flight are listed, to apogee.
const historyRows = 400

// Predict reads a flight file, flies it, and says what it would reach and how sure that is.
func Predict(ctx context.Context, path string, o PredictOptions) (*FlightSheet, error) {
	f, err := logbook.ReadFlight(path)
	if err != nil {
		return nil, err
	}
	model := flightModel{f}
	best, err := model.fly(model.best())
	if err != nil {
		return nil, err
	}
	seed := max(1, o.Seed)
	s := &FlightSheet{Format: "padside-flight", Version: 1, Program: Program, Seed: seed, Title: f.Title, Warnings: []fault.Warning{}}
	s.describe(best)
	if s.Answers, err = model.answers(ctx, best, seed, o.progress); err != nil {
		return nil, err
	}
	s.Warnings = append(s.Warnings, best.flight.Warnings...)
	s.Warnings = append(s.Warnings, model.cautions(best, model.best())...)
	if o.Sweep != nil {
		if s.Sweep, err = model.sweep(ctx, *o.Sweep, seed, o.progress); err != nil {
			return nil, err
		}
		s.Warnings = append(s.Warnings, s.Sweep.warnings...)
	}
	return s, nil
}

// describe lists phases and motion of the best estimate up to apogee.
func (s *FlightSheet) describe(w *flown) {
	for _, p := range w.flight.Phases() {
		s.Phases = append(s.Phases, FlightPhase{p.Name, p.From, p.To})
	}
	s.History = historyOf(w.flight)
}

// historyOf lists the motion up to apogee, time 0 at ignition or release.
func historyOf(f *flight.Flight) []FlightState {
	end := f.End
	if t, _, ok := f.Apogee(); ok {
		end = t
	}
	var out []FlightState
	for i := range historyRows + 1 {
		// Half of the rows up to the end of thrust: there most happens.
		t := f.EndOfThrust * 2 * float64(i) / historyRows
		if i > historyRows/2 {
			t = f.EndOfThrust + (end-f.EndOfThrust)*(2*float64(i)/historyRows-1)
		}
		at := f.At(t)
		out = append(out, FlightState{t, at.Height, at.Speed, at.Acceleration, f.Thrust(t)})
	}
	return out
}
