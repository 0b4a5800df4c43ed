package motion

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sort"

	"padside/fault"
	"padside/metrology"
)

// fewestMoving is the number of moving frames below which nothing is said.
const fewestMoving = 3

// Measure finds the motion of one lane and answers the questions, each on at least 4,000
// joint draws of everything that is unknown. The result depends on the input and its seeds
// alone. It returns a fault.Error where the input cannot be a motion; a footage that
// cannot say gives answers with a status and a reason instead.
func Measure(ctx context.Context, in Input) (*Result, error) {
	return measure(ctx, in, runtime.GOMAXPROCS(0))
}

func measure(ctx context.Context, in Input, workers int) (*Result, error) {
	if err := check(&in); err != nil {
		return nil, err
	}
	obs := in.Observations
	s := newSeries(obs)
	if s == nil {
		return in.silent("the vehicle does not leave its place in any frame"), nil
	}
	if moving := len(obs) - s.move; moving < fewestMoving {
		return in.silent(fmt.Sprintf("only %d frames show the vehicle moving; at least %d are needed", moving, fewestMoving)), nil
	}
	e := effortFor(len(obs) - s.move)
	e.workers = workers
	s, warn := setOutliersAside(&in, s, e)
	if s == nil || len(obs)-s.move < fewestMoving {
		return in.silent("too few frames are left once mistraced ones are set aside"), nil
	}
	post, err := infer(ctx, s, e, in.Seed)
	if err != nil {
		return nil, err
	}
	if len(post.pops) == 0 {
		return in.silent("the heights do not look like a launch: no motion fits them"), nil
	}
	m := &measurement{in: &in, post: post, effort: e}
	res, err := m.run(ctx)
	if err != nil {
		return nil, err
	}
	res.Warnings = append(warn, res.Warnings...)
	return res, nil
}

// silent answers every question with "insufficient" and the reason.
func (in *Input) silent(reason string) *Result {
	r := &Result{Lane: in.Lane}
	qs := questions(in, in.Questions.Window)
	if in.Questions.Window == 0 {
		qs = append(qs, question{answer: metrology.Answer{ID: PeakAcceleration, Lane: in.Lane, Unit: "m/s2"}})
	}
	for _, q := range qs {
		a := q.answer
		a.Status, a.Reason = metrology.Insufficient, reason
		r.Answers = append(r.Answers, a)
	}
	r.Draws = make([][]float64, len(r.Answers))
	return r
}

// measurement is one run of Measure.
type measurement struct {
	in     *Input
	post   *posterior
	effort effort

	window  float64
	qs      []question
	values  [][]float64 // per question, per draw; NaN where not reached
	stand   [][]float64 // stand-ins where not reached
	held    [][][]float64
	history [][]moments // per chunk, per frame
	atEnd   []bool      // per draw: the highest speed is at the last frame
	central *path       // the vehicle's own motion at its best value
	centre  place
	sources []string
}

// moments gathers sums of the three components of the state and their squares.
type moments struct {
	n        float64
	sum, sq  vec
	ref      vec
	anchored bool
}

func (m *moments) add(x vec) {
	if !m.anchored {
		m.ref, m.anchored = x, true
	}
	d := x.minus(m.ref)
	m.n++
	m.sum = m.sum.plus(d)
	m.sq = m.sq.plus(vec{d.h * d.h, d.v * d.v, d.a * d.a, 0})
}

// budgetDraws is how many of the draws the budget is taken from.
const budgetDraws = 1024

func (m *measurement) run(ctx context.Context) (*Result, error) {
	r := stream(m.in.Seed, 0)
	sets := m.post.resample(m.effort.sets, m.effort.pairs, r)
	shuffle(sets, r)
	n := total(sets)
	if err := m.chooseWindow(ctx, sets); err != nil {
		return nil, err
	}
	m.qs = questions(m.in, m.window)
	m.sources = append([]string(nil), m.in.Common.Sources...)
	if m.in.Common.RateU > 0 {
		m.sources = append(m.sources, timeBase)
	}
	m.sources = append(m.sources, traceNoise)
	if m.central = m.post.central(); m.central == nil {
		return m.in.silent("the heights do not look like a launch: no motion fits them"), nil
	}
	m.centre = m.central.peaks(m.window)
	m.centre.leave = m.in.Observations[len(m.in.Observations)-1].T
	m.allocate(n)
	if err := forEach(ctx, sets, m.in.Seed, m.effort.workers, m.see()); err != nil {
		return nil, err
	}
	return m.result(n), nil
}

func (m *measurement) allocate(n int) {
	table := func(rows, columns int) [][]float64 {
		t := make([][]float64, rows)
		for i := range t {
			t[i] = make([]float64, columns)
			for j := range t[i] {
				t[i][j] = math.NaN()
			}
		}
		return t
	}
	m.values, m.stand = table(len(m.qs), n), table(len(m.qs), n)
	for range m.sources {
		m.held = append(m.held, table(len(m.qs), min(n, budgetDraws)))
	}
	m.history = make([][]moments, chunks)
	for i := range m.history {
		m.history[i] = make([]moments, len(m.in.Observations))
	}
	m.atEnd = make([]bool, n)
}

// see returns the function that reads every draw.
func (m *measurement) see() func(chunk, draw int, p, mean *path) {
	readings := make([]reading, chunks)
	last := make([]place, chunks)
	return func(c, i int, p, mean *path) {
		r := &readings[c]
		if i%2 == 0 {
			last[c] = mean.peaks(m.window)
			last[c].leave = m.leave(i)
		}
		at := last[c]
		if m.window > 0 {
			at.accel = p.steepest(m.window)
		}
		m.atEnd[i] = at.speed >= p.knots[len(p.knots)-1].t
		r.reset(p, m.in.truth(i, ""))
		m.read(r, at, i, m.values, m.stand)
		m.record(r, m.history[c])
		if i < budgetDraws {
			last := len(m.sources) - 1 // trace noise
			for s, name := range m.sources[:last] {
				r.reset(p, m.in.truth(i, name))
				m.read(r, at, i, m.held[s], m.held[s])
			}
			r.reset(m.central, m.in.truth(i, ""))
			m.read(r, m.centre, i, m.held[last], m.held[last])
		}
	}
}

// leave draws the instant at which the vehicle leaves the view: the last frame, or, where it
// left the picture before the footage ended, anywhere in the frame interval after it.
func (m *measurement) leave(draw int) float64 {
	obs := m.in.Observations
	last := obs[len(obs)-1].T
	if !m.in.LeftView {
		return last
	}
	return last + m.post.s.step*m.post.s.unitT*stream(m.in.Seed, ^uint64(draw)).Float64()
}

func (m *measurement) read(r *reading, at place, i int, values, stand [][]float64) {
	for j := range m.qs {
		q := &m.qs[j]
		v := q.read(r, at)
		values[j][i] = v
		if math.IsNaN(v) && q.missing != nil {
			stand[j][i] = q.missing(r, at)
		}
	}
}

// record adds a path to the history.
func (m *measurement) record(r *reading, h []moments) {
	k := r.p.knots
	near := 1e-6 * m.post.s.step * m.post.s.unitT
	j := 0
	for i, o := range m.in.Observations {
		if o.T <= r.p.t0 {
			h[i].add(vec{})
			continue
		}
		for j < len(k)-1 && k[j].t < o.T-near {
			j++
		}
		x := k[j].x
		if math.Abs(k[j].t-o.T) > near {
			x = r.p.at(o.T)
		}
		h[i].add(r.warped(x))
	}
}

func (m *measurement) states() []State {
	out := make([]State, len(m.in.Observations))
	for i, o := range m.in.Observations {
		var all moments
		for c := range m.history {
			h := &m.history[c][i]
			if h.n == 0 {
				continue
			}
			if !all.anchored {
				all = *h
				continue
			}
			// move the sums to the common reference
			d := h.ref.minus(all.ref)
			shift := func(sq, sum, d float64) float64 { return sq + 2*d*sum + h.n*d*d }
			all.sq = vec{all.sq.h + shift(h.sq.h, h.sum.h, d.h), all.sq.v + shift(h.sq.v, h.sum.v, d.v), all.sq.a + shift(h.sq.a, h.sum.a, d.a), 0}
			all.sum = vec{all.sum.h + h.sum.h + h.n*d.h, all.sum.v + h.sum.v + h.n*d.v, all.sum.a + h.sum.a + h.n*d.a, 0}
			all.n += h.n
		}
		sd := func(sum, sq float64) float64 {
			mean := sum / all.n
			return math.Sqrt(math.Max(0, sq/all.n-mean*mean))
		}
		out[i] = State{
			T:      o.T,
			Height: all.ref.h + all.sum.h/all.n, Speed: all.ref.v + all.sum.v/all.n, Acceleration: all.ref.a + all.sum.a/all.n,
			UHeight: sd(all.sum.h, all.sq.h), USpeed: sd(all.sum.v, all.sq.v), UAcceleration: sd(all.sum.a, all.sq.a),
		}
	}
	return out
}

// Fractions of the draws that decide the status of an answer.
const (
	reachedBy    = 0.95 // at least so many draws reach it: measured
	notReachedBy = 0.05 // at most so many: not reached
)

func (m *measurement) result(n int) *Result {
	res := &Result{Lane: m.in.Lane, History: m.states()}
	for j := range m.qs {
		a, draws := m.settle(j)
		res.Answers = append(res.Answers, a)
		res.Draws = append(res.Draws, draws)
	}
	if m.window == 0 {
		res.Answers = append(res.Answers, metrology.Answer{ID: PeakAcceleration, Lane: m.in.Lane, Unit: "m/s2",
			Status: metrology.Insufficient, Reason: "too few frames show the vehicle moving to take a mean acceleration over three of them"})
		res.Draws = append(res.Draws, nil)
	}
	res.Warnings = m.warnings(res)
	if m.in.Questions.DropCheck {
		a, draws, warn := m.freeFall(n)
		res.Answers, res.Draws, res.Warnings = append(res.Answers, a), append(res.Draws, draws), append(res.Warnings, warn...)
	}
	return res
}

// settle decides the status of answer j and fills it in.
func (m *measurement) settle(j int) (metrology.Answer, []float64) {
	q := &m.qs[j]
	a := q.answer
	values := m.values[j]
	reached := 0
	for i, v := range values {
		if math.IsNaN(v) {
			values[i] = m.stand[j][i]
		} else {
			reached++
		}
	}
	f := float64(reached) / float64(len(values))
	switch {
	case f <= notReachedBy:
		a.Status, a.Reason = metrology.NotReached, fmt.Sprintf("the %s was not reached in view", q.what)
		return a, nil
	case f < reachedBy:
		a.Status = metrology.Insufficient
		a.Reason = fmt.Sprintf("the %s lies within the uncertainty of the highest in view: %.0f %% of the possible motions reach it", q.what, 100*f)
		return a, nil
	}
	fillAnswer(&a, values)
	if a.Status != metrology.Measured {
		return a, nil
	}
	held := make([][]float64, len(m.sources))
	for i := range held {
		held[i] = m.held[i][j]
	}
	a.Budget = budget(values, held, m.sources)
	return a, values
}

// fillAnswer gives an answer the value (median), uncertainty and shortest 95 % interval of its draws.
func fillAnswer(a *metrology.Answer, draws []float64) {
	sorted := append([]float64(nil), draws...)
	sort.Float64s(sorted)
	value, u := quantile(sorted, 0.5), metrology.SD(draws)
	in, err := metrology.ShortestInterval(draws, 0.95)
	if err != nil { // draws that are no numbers: never a value without an interval
		a.Status, a.Reason = metrology.Insufficient, "the motion is not determined well enough to say"
		return
	}
	a.Status, a.Value, a.U = metrology.Measured, &value, &u
	a.Interval = &[2]float64{math.Min(in.Lo, value), math.Max(in.Hi, value)}
}

// budget returns the share of each source. held has the draws with each source at its best value.
func budget(draws []float64, held [][]float64, sources []string) []metrology.Share {
	var list []metrology.Held
	for s, name := range sources {
		list = append(list, metrology.Held{Source: name, Draws: held[s]})
	}
	shares, err := metrology.Budget(draws[:min(len(draws), budgetDraws)], list)
	if err != nil {
		return nil
	}
	return shares
}

// warnings says what is doubtful, and marks the answers that rest on extrapolation.
func (m *measurement) warnings(res *Result) []fault.Warning {
	var out []fault.Warning
	end := 0
	for _, b := range m.atEnd {
		if b {
			end++
		}
	}
	if float64(end) > 0.5*float64(len(m.atEnd)) {
		out = append(out, fault.Warning{Code: "still-accelerating",
			Message: "the vehicle still gains speed in the last frame: its peak speed is a lower bound; film a longer stretch of the flight to see the peak"})
	}
	return append(out, m.extrapolation(res)...)
}

// sinceFirstMotion are the answers that count from first motion.
var sinceFirstMotion = [...]string{FirstMotion, TimeToSpeed, MeanAccelerationToSpeed, ViewTime}

// How often first motion may lie before the first frame, and how uncertain it may then be, as a
// share of the time in view, before it is not reported at all.
const (
	earlyShare  = 0.05
	earlySpread = 0.1
)

// extrapolation marks the answers that count from a first motion before the footage begins,
// and withdraws them where that is a guess.
func (m *measurement) extrapolation(res *Result) []fault.Warning {
	start := m.in.Observations[0].T
	view := m.in.Observations[len(m.in.Observations)-1].T - start
	var first *metrology.Answer
	early := 0
	for i := range res.Answers {
		if a := &res.Answers[i]; a.ID == FirstMotion && a.Status == metrology.Measured {
			first = a
			for _, t := range res.Draws[i] {
				if t < start {
					early++
				}
			}
			early = 100 * early / len(res.Draws[i])
		}
	}
	if first == nil || float64(early) < 100*earlyShare {
		return nil
	}
	before, far := start-first.Interval[0], *first.U > earlySpread*view
	for i := range res.Answers {
		a := &res.Answers[i]
		if a.Status != metrology.Measured || !slices.Contains(sinceFirstMotion[:], a.ID) {
			continue
		}
		if a.Extrapolated = true; far {
			*a = metrology.Answer{ID: a.ID, Lane: a.Lane, Unit: a.Unit, Speed: a.Speed, Status: metrology.Insufficient,
				Reason: "the vehicle moves in the first frame already: first motion is before the footage"}
			res.Draws[i] = nil
		}
	}
	if far {
		return []fault.Warning{{Code: "first-motion-before-footage", Message: "the vehicle moves in the first frame already: times from first motion cannot be told; let the footage begin earlier"}}
	}
	return []fault.Warning{{Code: "first-motion-extrapolated", Message: fmt.Sprintf(
		"first motion may lie before the first frame (in %d %% of the possible motions, by up to %.3g s): times from first motion rest on extrapolation; let the footage begin earlier", early, before)}}
}

// quantile returns the p-quantile of sorted values.
func quantile(sorted []float64, p float64) float64 {
	x := p * float64(len(sorted)-1)
	i := int(x)
	if i >= len(sorted)-1 {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (x-float64(i))*(sorted[i+1]-sorted[i])
}
