package predict

import (
	"context"
	"fmt"
	"math"
	"strings"

	"padside/fault"
	"padside/metrology"
	"padside/units"
)

// SweepRequest asks for a prediction over a range of one input.
type SweepRequest struct {
	Key      string
	From, To string // quantities, such as "100 mL"
	Goal     string // an answer's id: the optimum is where it is best; empty: apogee
}

// ParseSweep reads "water=100mL..1500mL".
func ParseSweep(text string) (*SweepRequest, error) {
	key, span, found := strings.Cut(text, "=")
	from, to, ranged := strings.Cut(span, "..")
	if !found || !ranged || strings.TrimSpace(key) == "" {
		return nil, fault.Requestf("write --sweep water=100mL..1500mL", "%q is no sweep", text)
	}
	return &SweepRequest{Key: strings.TrimSpace(key), From: strings.TrimSpace(from), To: strings.TrimSpace(to)}, nil
}

// Sweep is a prediction over a range of one input, SI.
type Sweep struct {
	Key     string       `json:"key"`
	Unit    string       `json:"unit"`
	Goal    string       `json:"goal"`
	Points  []SweepValue `json:"points"`
	Optimum *SweepBest   `json:"optimum"` // null where no flight of the range is better than its neighbours, or none may be recommended

	warnings []fault.Warning
	asked    units.Unit // in which the range was written
}

// SweepValue is the goal at one value of the input: best estimate and 95 % interval. Value is null where it cannot fly.
type SweepValue struct {
	At       float64     `json:"at"`
	Value    *float64    `json:"value"`
	Interval *[2]float64 `json:"interval95"`
}

// SweepBest is where the goal is best, with its 95 % interval over the uncertain Inputs, and the goal there.
type SweepBest struct {
	At        float64    `json:"at"`
	Interval  [2]float64 `json:"interval95"`
	Value     float64    `json:"value"`
	ValueEnds [2]float64 `json:"value_interval95"`
	AtEnd     bool       `json:"at_end"` // the best lies at an end of the range: beyond it may be better
}

// Size of a sweep, and the draws at each point.
const (
	sweepPoints     = 60
	sweepPointDraws = 200
)

// goals are answers that a sweep can aim at, and whether more is better.
var goals = map[string]bool{"apogee": true, "peak_speed": true, "end_of_water_speed": true, "end_of_thrust_speed": true, "total_impulse": true, "peak_acceleration": true, "rod_exit_speed": true}

// sweep flies the model over a range of one input. The same draws of the other inputs are flown at every point, so that the best
// point of each draw is one draw of the optimum.
func (m Model) sweep(ctx context.Context, q SweepRequest, seed uint64, progress func(string, int, int)) (*Sweep, error) {
	in, ok := m.File.Input(q.Key)
	if !ok {
		var known []string
		for _, i := range m.File.Inputs {
			known = append(known, i.Key)
		}
		return nil, fault.Requestf("inputs of the file: "+strings.Join(known, ", "), "the flight file states no %q to sweep", q.Key)
	}
	from, err := units.Parse(q.From, in.Dimension)
	if err != nil {
		return nil, err
	}
	to, err := units.Parse(q.To, in.Dimension)
	if err != nil {
		return nil, err
	}
	if !(from.Value < to.Value) {
		return nil, fault.Requestf("give the smaller value first", "the sweep from %s to %s has no length", q.From, q.To)
	}
	if q.Goal == "" {
		q.Goal = "apogee"
	}
	k := -1
	for i, p := range Reached {
		if p.ID == q.Goal && goals[q.Goal] {
			k = i
		}
	}
	if k < 0 {
		return nil, fault.Requestf("goals: apogee, peak_speed, end_of_water_speed, end_of_thrust_speed, total_impulse, peak_acceleration, rod_exit_speed", "%q is nothing to aim at", q.Goal)
	}
	s := &Sweep{Key: q.Key, Unit: units.SI(in.Dimension).Symbol, Goal: q.Goal, asked: units.SI(in.Dimension)}
	if u, ok := units.Lookup(from.Unit, in.Dimension); ok {
		s.asked = u
	}
	p := sweepPlan{key: q.Key, goal: k, draws: sweepPointDraws, seed: seed, rod: m.Best().Value["rod_length"]}
	if !m.uncertain() {
		p.draws = 1
	}
	top := &summits{make([]float64, p.draws), make([]float64, p.draws)}
	for i := range top.value {
		top.value[i] = math.Inf(-1)
	}
	step := (to.Value - from.Value) / sweepPoints
	for i := range sweepPoints + 1 {
		progress("sweep", i, sweepPoints+1)
		v, err := m.point(ctx, p, from.Value+step*float64(i), top)
		if err != nil {
			return nil, err
		}
		s.Points = append(s.Points, v)
	}
	s.finish(top, step)
	if s.Optimum != nil && q.Key == "pressure" && s.Optimum.At > SafePressure {
		s.Optimum = nil
		s.warn("pressure-high", "the model gains with every bar, and bottles burst: no pressure above %.3g bar, half of the lowest published burst pressure, is recommended", SafePressure/1e5)
	}
	return s, nil
}

// summits are the best point of each draw of the other Inputs, so far.
type summits struct{ at, value []float64 }

// point flies the model at one value of the input.
func (m Model) point(ctx context.Context, p sweepPlan, at float64, top *summits) (SweepValue, error) {
	out := SweepValue{At: at}
	set := func(in Inputs) { in.Value[p.key] = at }
	in := m.Best()
	set(in)
	w, err := m.Fly(in)
	if err != nil {
		return out, nil // it cannot fly there: the point stays empty
	}
	v := w.Values(p.rod)[p.goal]
	if math.IsNaN(v) {
		return out, nil
	}
	out.Value, out.Interval = &v, &[2]float64{v, v}
	flown, err := m.draw(ctx, p.draws, p.seed, p.rod, set, nil)
	if err != nil {
		return out, err
	}
	var drawn []float64
	for i, f := range flown {
		if f == nil || math.IsNaN(f[p.goal]) {
			continue
		}
		drawn = append(drawn, f[p.goal])
		if f[p.goal] > top.value[i] {
			top.at[i], top.value[i] = at, f[p.goal]
		}
	}
	if iv, err := metrology.ShortestInterval(drawn, 0.95); err == nil && m.uncertain() {
		out.Interval = &[2]float64{math.Min(iv.Lo, v), math.Max(iv.Hi, v)}
	}
	return out, nil
}

// sweepPlan is what all points of a sweep have in common.
type sweepPlan struct {
	key   string
	goal  int // index of Reached
	draws int
	seed  uint64
	rod   float64
}

// finish finds the optimum: the best point of the best estimate, sharpened by a parabola through its neighbours.
func (s *Sweep) finish(top *summits, step float64) {
	b := -1
	for i, p := range s.Points {
		if p.Value != nil && (b < 0 || *p.Value > *s.Points[b].Value) {
			b = i
		}
	}
	if b < 0 {
		s.warn("nothing-flies", "no value of %s in this range flies", s.Key)
		return
	}
	o := &SweepBest{At: s.Points[b].At, Value: *s.Points[b].Value, AtEnd: b == 0 || b == len(s.Points)-1 || s.Points[b-1].Value == nil || s.Points[b+1].Value == nil}
	if !o.AtEnd {
		l, c, r := *s.Points[b-1].Value, *s.Points[b].Value, *s.Points[b+1].Value
		if bend := l - 2*c + r; bend < 0 {
			x := 0.5 * (l - r) / bend
			o.At, o.Value = o.At+x*step, c-0.25*(l-r)*x
		}
	}
	var at []float64
	for i, v := range top.value {
		if !math.IsInf(v, -1) {
			at = append(at, top.at[i])
		}
	}
	// The points stand a step apart: the best of a draw is known to half of one.
	o.Interval = [2]float64{o.At - step/2, o.At + step/2}
	if iv, err := metrology.ShortestInterval(at, 0.95); err == nil && len(at) > 1 {
		o.Interval = [2]float64{math.Min(iv.Lo, o.At) - step/2, math.Max(iv.Hi, o.At) + step/2}
	}
	o.ValueEnds = *s.Points[b].Interval
	if o.AtEnd {
		s.warn("optimum-at-end", "the best %s lies at an end of the range swept: beyond it may be better", s.Key)
	}
	s.Optimum = o
}

func (s *Sweep) warn(code, format string, args ...any) {
	s.warnings = append(s.warnings, fault.Warning{Code: code, Message: fmt.Sprintf(format, args...)})
}
