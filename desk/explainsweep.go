package desk

import (
	"context"
	"fmt"
	"io"
	"math"
	"path/filepath"

	"padside/explain"
	"padside/fault"
	"padside/flight"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/predict"
	"padside/study"
	"padside/units"
	"padside/wording"
)

// SweepModel is one flight model fitted to all launches of a sweep together, and what it has over the condition.
type SweepModel struct {
	FlightFile  string               `json:"flight_file"`
	Fitted      []metrology.Answer   `json:"fitted"` // inputs that all launches share
	Correlation [][]float64          `json:"correlation"`
	Test        explain.ResidualTest `json:"residual_test"`
	Curves      []ModelCurve         `json:"curves"` // empty where the model does not fit
	Warnings    []fault.Warning      `json:"warnings"`
}

// ModelCurve is one answer over the condition, SI. Speed and Height say which, as in SweepLine.
type ModelCurve struct {
	ID       string             `json:"id"`
	Speed    *float64           `json:"speed,omitempty"`
	Height   *float64           `json:"height,omitempty"`
	Unit     string             `json:"unit"`
	Points   []study.CurvePoint `json:"points"`
	Optimum  float64            `json:"optimum"`
	Interval [2]float64         `json:"optimum_interval95"`
	Value    float64            `json:"value"`
	AtEnd    bool               `json:"at_end"`
}

// modelPoints is at how many values of the condition the model is flown.
const modelPoints = 61

// explained fits the flight model of launches that are swept, where all name the same flight file, and draws its curves. It returns nil where they
// name none.
func (c *comparing) explained(ctx context.Context, s *CompareSheet) (*SweepModel, error) {
	file := c.launches[0].Flight
	for _, l := range c.launches {
		if l.Flight == "" || filepath.Clean(l.Flight) != filepath.Clean(file) {
			return nil, nil
		}
	}
	f, err := logbook.ReadFlight(file)
	if err != nil {
		return nil, err
	}
	if _, ok := f.Input(c.o.Sweep); !ok {
		return nil, nil // the condition is none of the model's inputs
	}
	in := explain.Input{Seed: s.Seed, Progress: func(done, total int) { c.o.progress("fit", done, total) }}
	for i, m := range c.measured {
		if len(m.Lanes) != 1 {
			return nil, nil
		}
		in.Launches = append(in.Launches, toExplain(c.launches[i], &m.Lanes[0]))
	}
	e, stated := fromLaunches(f, c.launches)
	if err := e.free(nil, stated, false); err != nil {
		return nil, err
	}
	in.Unknowns, in.Model, in.Say = e.unknowns, e.fly, e.say
	res, err := explain.Run(ctx, in)
	if err != nil {
		return nil, err
	}
	out := &SweepModel{FlightFile: filepath.Base(f.Path), Test: res.Test, Warnings: append([]fault.Warning{}, res.Warnings...), Curves: []ModelCurve{}}
	if err := out.fitted(e, res); err != nil {
		return nil, err
	}
	if !res.Test.Fits {
		return out, nil
	}
	return out, out.curves(ctx, c, s, e, res)
}

// fitted are the unknowns that all launches share, as answers.
func (m *SweepModel) fitted(e *explained, res *explain.Result) error {
	one := &ExplainSheet{}
	if res.Impossible != "" {
		one.unfitted(e, res)
	} else if err := one.fitted(e, res); err != nil {
		return err
	}
	if !res.Test.Fits {
		one.withhold()
	}
	var shared []int
	for j, set := range e.sets {
		if set.launch < 0 {
			shared = append(shared, j)
			m.Fitted = append(m.Fitted, one.Answers[j])
		}
	}
	for _, j := range shared {
		if res.Impossible != "" {
			break
		}
		var row []float64
		for _, i := range shared {
			row = append(row, res.Correlation[j][i])
		}
		m.Correlation = append(m.Correlation, row)
	}
	return nil
}

// curves flies the fitted model over the range flown and a quarter more at either end.
func (m *SweepModel) curves(ctx context.Context, c *comparing, s *CompareSheet, e *explained, res *explain.Result) error {
	at, _, _, err := c.conditions(s)
	if err != nil {
		return err
	}
	lo, hi := at[0], at[0]
	for _, v := range at {
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	span := hi - lo
	lo, hi = math.Max(lo-span/4, lo/4), hi+span/4
	if c.o.Sweep == "water" {
		hi = math.Min(hi, 0.9*e.base[0].Value["volume"])
	}
	places := make([]float64, modelPoints)
	for i := range places {
		places[i] = lo + (hi-lo)*float64(i)/(modelPoints-1)
	}
	var more []bool
	for _, l := range s.Sweep {
		if l.ID == motion.TimeToSpeed || l.ID == motion.GateSpeed {
			m.Curves = append(m.Curves, ModelCurve{ID: l.ID, Speed: l.Speed, Height: l.Height, Unit: l.Unit})
			more = append(more, l.more())
		}
	}
	m.Curves = append(m.Curves, ModelCurve{ID: "flight_peak_speed", Unit: "m/s"}, ModelCurve{ID: "apogee", Unit: "m"})
	more = append(more, true, true)
	if err := e.fill(ctx, res, m.Curves, more, c.o.Sweep, places, c.o.Options); err != nil {
		return err
	}
	m.caution(c.o.Sweep, res, e)
	return nil
}

// fill flies the fitted model over places of an input and takes the curves from that.
func (e *explained) fill(ctx context.Context, res *explain.Result, curves []ModelCurve, more []bool, key string, places []float64, o Options) error {
	list, err := res.Curves(ctx, places, more, func(at float64, values []float64) []float64 {
		in := e.inputs(0, values)
		in.Value[key] = at
		w, err := e.model.Fly(in)
		out := make([]float64, len(curves))
		for k := range out {
			out[k] = math.NaN()
			if err == nil {
				out[k] = curves[k].of(w.Flight)
			}
		}
		return out
	}, func(done, total int) { o.progress("curve", done, total) })
	if err != nil {
		return err
	}
	for k := range list {
		curves[k].take(list[k])
	}
	return nil
}

// sweep flies the fitted model over the input that is easiest to change: a bottle's water, a motor rocket's dry mass.
func (e *explained) sweep(ctx context.Context, res *explain.Result, o Options) (*FittedSweep, error) {
	in := e.inputs(0, res.Values)
	s := &FittedSweep{Key: "dry_mass", Curves: []ModelCurve{{ID: "apogee", Unit: "m"}, {ID: "flight_peak_speed", Unit: "m/s"}}}
	lo, hi := 0.6*in.Value["dry_mass"], 1.6*in.Value["dry_mass"]
	if e.model.File.Kind == "bottle" {
		s.Key = "water"
		lo, hi = 0.06*in.Value["volume"], 0.75*in.Value["volume"]
	}
	s.KeyUnit, s.Stated = e.unit(s.Key), in.Value[s.Key]
	places := make([]float64, modelPoints)
	for i := range places {
		places[i] = lo + (hi-lo)*float64(i)/(modelPoints-1)
	}
	return s, e.fill(ctx, res, s.Curves, []bool{true, true}, s.Key, places, o)
}

// of is the answer of one flight, NaN where it has none.
func (k *ModelCurve) of(f *flight.Flight) float64 {
	t, ok := 0.0, false
	switch k.ID {
	case motion.TimeToSpeed:
		if t, ok = f.SpeedReached(*k.Speed); ok {
			return t - f.FirstMotion
		}
	case motion.GateSpeed:
		if t, ok = f.HeightReached(*k.Height); ok {
			return f.At(t).Speed
		}
	case "apogee":
		if _, h, ok := f.Apogee(); ok {
			return h
		}
	default:
		_, v := f.PeakSpeed(f.End)
		return v
	}
	return math.NaN()
}

func (k *ModelCurve) take(c explain.Curve) {
	for i, at := range c.At {
		if !math.IsNaN(c.Value[i]) {
			k.Points = append(k.Points, study.CurvePoint{At: at, Value: c.Value[i], Low: c.Low[i], High: c.High[i]})
		}
	}
	k.Optimum, k.Interval, k.Value, k.AtEnd = c.Best, c.BestEnds, c.BestValue, c.AtEnd
}

// caution takes back the optimum of a pressure that may not be recommended, and says so, and repeats what goes with every prediction.
func (m *SweepModel) caution(key string, res *explain.Result, e *explained) {
	in := e.inputs(0, res.Values)
	if w, err := e.model.Fly(in); err == nil {
		m.Warnings = append(m.Warnings, e.model.Cautions(w, in)...)
	}
	if key != "pressure" {
		return
	}
	for i := range m.Curves {
		if k := &m.Curves[i]; k.Optimum > predict.SafePressure {
			k.Optimum, k.Interval, k.AtEnd = predict.SafePressure, [2]float64{0, predict.SafePressure}, true
			m.Warnings = append(m.Warnings, fault.Warning{Code: "pressure-high", Message: fmt.Sprintf(
				"no pressure above %.3g bar, half of the lowest published burst pressure, is recommended, whatever the model says", predict.SafePressure/1e5)})
		}
	}
}

// modelText says what the model fitted to a sweep has.
func (s *CompareSheet) modelText(w io.Writer, r wording.Reader) {
	m := s.Model
	if m == nil {
		return
	}
	fmt.Fprintf(w, "\nthe flight model of %s, fitted to all launches together\n", m.FlightFile)
	for _, a := range m.Fitted {
		value, interval := wording.Text(a, units.Unit{Symbol: a.Unit, Num: 1, Den: 1})
		fmt.Fprintf(w, "  %s %s (%s)\n", predict.Name(a.ID), value, interval)
	}
	if !m.Test.Fits {
		fmt.Fprintln(w, "  it does not fit: no curve is drawn from it")
		return
	}
	for _, k := range m.Curves {
		fmt.Fprintf(w, "  %s: %s\n", curveName(r, &k), k.bestText(s.Sweep[0].written))
	}
}
