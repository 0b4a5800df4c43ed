package desk

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"sort"

	"padside/explain"
	"padside/fault"
	"padside/flight"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
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
	History     []FlightState        `json:"history"`  // of the fitted flight; time 0 at first motion
	Measured    []MeasuredThrust     `json:"measured"` // time 0 at first motion
	Sweep       *FittedSweep         `json:"sweep,omitempty"`
	Inertia     *InertiaOdds         `json:"water_inertia,omitempty"` // of a bottle
	Warnings    []fault.Warning      `json:"warnings"`

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
	FlightPhase
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
	in := explain.Input{Unknowns: e.unknowns, Model: e.fly, Seed: seed, Progress: func(done, total int) { o.progress("fit", done, total) },
		Launches: []explain.Launch{toExplain(m.Launch, lane)}}
	res, err := explain.Run(ctx, in)
	if err != nil {
		return nil, err
	}
	s := &ExplainSheet{Format: "padside-explain", Version: 1, Program: Program, Seed: seed, Title: m.Sheet.Launch.Title, FlightFile: filepath.Base(f.Path),
		Correlation: res.Correlation, Test: res.Test, Warnings: append([]fault.Warning{}, m.Sheet.Warnings...),
		FirstMotion: res.Launches[0].FirstMotion, FirstU: res.Launches[0].FirstMotionU, Residuals: res.Launches[0].Residuals}
	s.Warnings = append(s.Warnings, res.Warnings...)
	if err := s.fitted(e, res); err != nil {
		return nil, err
	}
	if err := s.predict(ctx, e, res, o); err != nil {
		return nil, err
	}
	s.measured(e, res, lane)
	s.model = e
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
	return explain.Launch{Observations: in.Observations, SlowU: jump(lane.Heights), RestU: in.RestU, PhaseU: in.PhaseU, Setup: l.Setup, Common: in.Common}
}

// jump is how uncertain heights in flight are together against those at rest: the trace's uncertainty of the first frames in flight beyond that of
// the frames at rest. It is the same picture that is followed: neighbouring frames share most of it.
func jump(obs []motion.Observation) float64 {
	move := -1
	for i := range obs {
		if i > 2 && obs[i].H > 5*obs[i].U && obs[i].H > obs[i-1].H && move < 0 {
			move = i
		}
	}
	if move < 0 {
		return 0
	}
	rest := 0.0
	for _, o := range obs[:max(1, move-2)] {
		rest += o.U / float64(max(1, move-2))
	}
	var first []float64
	for _, o := range obs[move:min(len(obs), move+12)] {
		first = append(first, o.U)
	}
	sort.Float64s(first)
	flying := first[len(first)/2]
	return math.Sqrt(math.Max(0, flying*flying-rest*rest))
}

// underCeiling refuses a speed that the bottle's gas cannot have given: inputs or scale are wrong, and no fit may hide it.
func (e *explained) underCeiling(r *motion.Result) error {
	if e.model.file.Kind != "bottle" {
		return nil
	}
	site, err := e.base[0].site()
	if err != nil {
		return err
	}
	for _, a := range r.Answers {
		if a.ID == motion.PeakSpeed && a.Interval != nil {
			return e.model.bottle(e.base[0], site).CheckSpeed(a.Interval[0])
		}
	}
	return nil
}

// seesCoast says whether the footage shows enough of the coast for the drag to show: by the file's own flight, half as long again as its
// thrust.
func (e *explained) seesCoast(lane *Lane) (bool, error) {
	w, err := e.model.fly(e.base[0])
	if err != nil {
		return false, err
	}
	for _, a := range lane.Motion.Answers {
		if a.ID == motion.ViewTime && a.Value != nil {
			return *a.Value > 2*(w.flight.EndOfThrust-w.flight.FirstMotion)+0.1, nil
		}
	}
	return false, nil
}

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
			if a, err = fromDraws(a, f.Value, draws); err != nil {
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
	best, err := e.model.fly(e.inputs(0, res.Values))
	if err != nil {
		return fmt.Errorf("fly the fitted model: %w", err)
	}
	rod := e.base[0].value["rod_length"]
	n := min(explainedFlights, len(res.Draws))
	flown := make([]*[len(predicted)]float64, n)
	phases := make([][]flight.Phase, n)
	err = flyAll(ctx, n, o.progress, func(i int) {
		if f, err := e.model.fly(e.inputs(0, res.Draws[i*len(res.Draws)/n])); err == nil {
			v := f.values(rod)
			flown[i], phases[i] = &v, fromFirstMotion(f.flight)
		}
	})
	if err != nil {
		return err
	}
	values := best.values(rod)
	for k, p := range predicted {
		a := metrology.Answer{ID: p.id, Unit: p.unit}
		if math.IsNaN(values[k]) {
			continue // of another kind of vehicle
		}
		if a, err = fromDraws(a, values[k], column(flown, k)); err != nil {
			return err
		}
		s.Answers = append(s.Answers, a)
	}
	s.phases(best.flight, phases)
	for _, h := range historyOf(best.flight) {
		h.T -= best.flight.FirstMotion
		s.History = append(s.History, h)
	}
	s.Warnings = append(s.Warnings, best.flight.Warnings...)
	s.Warnings = append(s.Warnings, e.model.cautions(best, e.inputs(0, res.Values))...)
	return nil
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
		out := FittedPhase{FlightPhase: FlightPhase{p.Name, p.From, p.To}}
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
