package desk

import (
	"context"
	"math"
	"path/filepath"

	"padside/explain"
	"padside/fault"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/predict"
)

// ExplainOptions says how to explain. The zero value takes the flight file that the launch names and frees what is usual for its kind.
type ExplainOptions struct {
	Options
	Flight string   // path of the flight file; empty: the launch's
	Free   []string // inputs that the footage alone decides; nil: what is usual
}

// ExplainSheet is a launch explained by a flight model: fitted inputs and what follows from them, in the shape of the contract. SI.
type ExplainSheet struct {
	Format      string               `json:"format"` // "padside-explain"
	Version     int                  `json:"version"`
	Program     string               `json:"program"`
	Seed        uint64               `json:"seed"`
	Title       string               `json:"title"`
	FlightFile  string               `json:"flight_file"`
	Fitted      []string             `json:"fitted"` // ids of the answers that are fitted inputs, in the order of Correlation
	Correlation [][]float64          `json:"correlation"`
	Test        explain.ResidualTest `json:"residual_test"`
	Phases      []FittedPhase        `json:"phases"`
	Answers     []metrology.Answer   `json:"answers"`
	FirstMotion float64              `json:"first_motion_s"`
	FirstU      float64              `json:"first_motion_standard_uncertainty"`
	Residuals   []explain.Residual   `json:"residuals"`
	History     []predict.State      `json:"history"`  // of the fitted flight; time 0 at first motion
	Measured    []MeasuredThrust     `json:"measured"` // time 0 at first motion
	Sweep       *FittedSweep         `json:"sweep,omitempty"`
	Inertia     *InertiaOdds         `json:"water_inertia,omitempty"` // of a bottle
	Warnings    []fault.Warning      `json:"warnings"`
	Impossible  string               `json:"impossible,omitempty"` // what the only flight that comes near has, where it cannot be; History is that flight's

	model *explained
}

// FittedSweep is what the fitted model has over a range of one input.
type FittedSweep struct {
	Key     string       `json:"key"`
	KeyUnit string       `json:"key_unit"`
	Stated  float64      `json:"stated"` // the input as the launch has it
	Curves  []ModelCurve `json:"curves"`
}

// FittedPhase is one part of the fitted flight, s from first motion, with the 95 % interval of its end.
type FittedPhase struct {
	predict.Phase
	Ends *[2]float64 `json:"to_interval95"`
}

// JSON returns the sheet with a final line break.
func (s *ExplainSheet) JSON() ([]byte, error) {
	return indented(s)
}

// Keep writes explain.json into dir.
func (s *ExplainSheet) Keep(dir string) error {
	b, err := s.JSON()
	if err != nil {
		return err
	}
	return logbook.WriteAtomic(dir, map[string][]byte{"explain.json": b})
}

// Explain measures a launch and fits its flight model to the trace. A model that does not fit gives a sheet whose residual test says so and
// whose fitted and predicted answers have no value.
func Explain(ctx context.Context, path string, o ExplainOptions) (*ExplainSheet, error) {
	l, f, err := readExplained(path, o.Flight)
	if err != nil {
		return nil, err
	}
	e, _ := fromLaunches(f, []*logbook.Launch{l})
	if err := e.mayFree(o.Free); err != nil { // said before footage is followed
		return nil, err
	}
	seen, err := followLaunch(ctx, l, o.Options)
	if err != nil {
		return nil, err
	}
	m, err := seen.answer(ctx, l, o.Options)
	if err != nil {
		return nil, err
	}
	return m.explain(ctx, f, o)
}

// readExplained reads a launch file and the flight file that goes with it.
func readExplained(path, flightPath string) (*logbook.Launch, *logbook.FlightFile, error) {
	l, err := logbook.ReadLaunch(path)
	if err != nil {
		return nil, nil, err
	}
	if flightPath == "" {
		flightPath = l.Flight
	}
	if flightPath == "" {
		return nil, nil, fault.Requestf(`write flight = "flight.toml" into the launch file, or give --flight FLIGHT.toml`, "%s: the launch names no flight file to explain it with", filepath.Base(path))
	}
	f, err := logbook.ReadFlight(flightPath)
	return l, f, err
}

// explain fits the flight model to a launch that has been measured.
func (m *Measurement) explain(ctx context.Context, f *logbook.FlightFile, o ExplainOptions) (*ExplainSheet, error) {
	if len(m.Lanes) != 1 {
		return nil, fault.Requestf("explain footage of one vehicle, or cut it", "the footage shows %d vehicles", len(m.Lanes))
	}
	lane := &m.Lanes[0]
	e, stated := fromLaunches(f, []*logbook.Launch{m.Launch})
	if err := e.underCeiling(lane.Motion); err != nil {
		return nil, err
	}
	coasting, err := e.seesCoast(lane)
	if err != nil {
		return nil, err
	}
	if err := e.free(o.Free, stated, coasting); err != nil {
		return nil, err
	}
	seed := max(1, o.Seed)
	in := explain.Input{Unknowns: e.unknowns, Model: e.fly, Seed: seed, Say: e.say, Progress: func(done, total int) { o.progress("fit", done, total) },
		Launches: []explain.Launch{toExplain(m.Launch, lane)}}
	res, err := explain.Run(ctx, in)
	if err != nil {
		return nil, err
	}
	s := &ExplainSheet{Format: "padside-explain", Version: 1, Program: Program, Seed: seed, Title: m.Sheet.Launch.Title, FlightFile: filepath.Base(f.Path),
		Correlation: res.Correlation, Test: res.Test, Warnings: append([]fault.Warning{}, m.Sheet.Warnings...),
		Impossible: res.Impossible, FirstMotion: res.Launches[0].FirstMotion, FirstU: res.Launches[0].FirstMotionU, Residuals: res.Launches[0].Residuals}
	s.Warnings, s.model = append(s.Warnings, res.Warnings...), e
	if res.Impossible != "" {
		s.impossible(e, res, lane)
		return s, nil
	}
	if err := s.fitted(e, res); err != nil {
		return nil, err
	}
	if err := s.predict(ctx, e, res, o); err != nil {
		return nil, err
	}
	s.measured(e, res, lane)
	if err := s.inertia(ctx, e, in, res); err != nil {
		return nil, err
	}
	if !res.Test.Fits {
		s.withhold()
		return s, nil
	}
	s.Sweep, err = e.sweep(ctx, res, o.Options)
	return s, err
}

// toExplain is a lane as package explain takes it.
func toExplain(l *logbook.Launch, lane *Lane) explain.Launch {
	in := &lane.told
	var obs []motion.Observation
	for _, o := range in.Observations {
		if clock := &lane.Motion.Clock; !clock.Repeats(o.Frame) {
			o.T += clock.Later(o.Frame)
			obs = append(obs, o)
		}
	}
	return explain.Launch{Observations: obs, RestU: in.RestU, PhaseU: in.PhaseU, Setup: l.Setup, Common: in.Common.Warped(speedAt(lane.Motion.History))}
}

// underCeiling refuses a speed that the bottle's gas cannot have given: inputs or scale are wrong, and no fit may hide it.
func (e *explained) underCeiling(r *motion.Result) error {
	if e.model.File.Kind != "bottle" {
		return nil
	}
	site, err := e.base[0].Site()
	if err != nil {
		return err
	}
	for _, a := range r.Answers {
		if a.ID == motion.PeakSpeed && a.Interval != nil {
			return e.model.Bottle(e.base[0], site).CheckSpeed(a.Interval[0])
		}
	}
	return nil
}

// seesCoast says whether the footage shows enough of the coast for the drag to show: by the file's own flight, half as long again as its
// thrust.
func (e *explained) seesCoast(lane *Lane) (bool, error) {
	w, err := e.model.Fly(e.base[0])
	if err != nil {
		return false, err
	}
	for _, a := range lane.Motion.Answers {
		if a.ID == motion.ViewTime && a.Value != nil {
			return *a.Value > 2*(w.Flight.EndOfThrust-w.Flight.FirstMotion)+0.1, nil
		}
	}
	return false, nil
}

// speedAt is a motion's speed (m/s) by its height (m), and the highest height in view: of a vehicle that
// does not come back, the speed of the first frame that is as high.
func speedAt(h []motion.State) (speed func(height float64) float64, top float64) {
	for _, s := range h {
		top = math.Max(top, s.Height)
	}
	return func(height float64) float64 {
		for _, s := range h {
			if s.Height >= height {
				return s.Speed
			}
		}
		return 0
	}, top
}
