package predict

import (
	"context"
	"encoding/json"

	"padside/fault"
	"padside/flight"
	"padside/logbook"
	"padside/metrology"
)

// Sheet is a Reached flight, in the shape of the contract. SI.
type Sheet struct {
	Format   string             `json:"format"` // "padside-flight"
	Version  int                `json:"version"`
	Program  string             `json:"program"`
	Seed     uint64             `json:"seed"`
	Title    string             `json:"title"`
	Phases   []Phase            `json:"phases"`
	Answers  []metrology.Answer `json:"answers"`
	History  []State            `json:"history"`
	Sweep    *Sweep             `json:"sweep,omitempty"`
	Warnings []fault.Warning    `json:"warnings"`
}

// Phase is one part of the flight, s.
type Phase struct {
	Name string  `json:"name"`
	From float64 `json:"from_s"`
	To   float64 `json:"to_s"`
}

// State is the motion at one instant of the best estimate.
type State struct {
	T            float64 `json:"t"`
	Height       float64 `json:"height"`
	Speed        float64 `json:"speed"`
	Acceleration float64 `json:"acceleration"`
	Thrust       float64 `json:"thrust"`
}

// JSON returns the sheet with a final line break.
func (s *Sheet) JSON() ([]byte, error) {
	b, err := json.MarshalIndent(s, "", "  ")
	return append(b, '\n'), err
}

// Options says what to predict. The zero value predicts one flight.
type Options struct {
	Seed     uint64                              // of the draws; 0 means 1
	Progress func(stage string, done, total int) // may be nil; called from several goroutines in turn
	Sweep    *SweepRequest
}

func (o Options) progress(stage string, done, total int) {
	if o.Progress != nil {
		o.Progress(stage, done, total)
	}
}

// predictDraws is how many flights show the spread from uncertain inputs: a standard deviation to 2 %.
const predictDraws = 1000

// historyRows is how many instants of the flight are listed, to apogee.
const historyRows = 400

// Run flies a flight file, and says what it would reach and how sure that is. The sheet does not say which program made it.
func Run(ctx context.Context, f *logbook.FlightFile, o Options) (*Sheet, error) {
	model := Model{f}
	best, err := model.Fly(model.Best())
	if err != nil {
		return nil, err
	}
	seed := max(1, o.Seed)
	s := &Sheet{Format: "padside-flight", Version: 1, Seed: seed, Title: f.Title, Warnings: []fault.Warning{}}
	s.describe(best)
	if s.Answers, err = model.answers(ctx, best, seed, o.progress); err != nil {
		return nil, err
	}
	s.Warnings = append(s.Warnings, best.Flight.Warnings...)
	s.Warnings = append(s.Warnings, model.Cautions(best, model.Best())...)
	if o.Sweep != nil {
		if s.Sweep, err = model.sweep(ctx, *o.Sweep, seed, o.progress); err != nil {
			return nil, err
		}
		s.Warnings = append(s.Warnings, s.Sweep.warnings...)
	}
	return s, nil
}

// describe lists phases and motion of the best estimate up to apogee.
func (s *Sheet) describe(w *Flown) {
	for _, p := range w.Flight.Phases() {
		s.Phases = append(s.Phases, Phase{p.Name, p.From, p.To})
	}
	s.History = History(w.Flight)
}

// History lists the motion up to apogee, time 0 at ignition or release.
func History(f *flight.Flight) []State {
	end := f.End
	if t, _, ok := f.Apogee(); ok {
		end = t
	}
	var out []State
	for i := range historyRows + 1 {
		// Half of the rows up to the end of thrust: there most happens.
		t := f.EndOfThrust * 2 * float64(i) / historyRows
		if i > historyRows/2 {
			t = f.EndOfThrust + (end-f.EndOfThrust)*(2*float64(i)/historyRows-1)
		}
		at := f.At(t)
		out = append(out, State{t, at.Height, at.Speed, at.Acceleration, f.Thrust(t)})
	}
	return out
}
