package motion

import (
	"context"
	"fmt"
	"math"
	"runtime"

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
	given := in.Observations
	in.given = given
	all := in.stamped(len(given))
	obs := all
	if in.Questions.DropCheck {
		if flights, _ := flightsOf(all); len(flights) > 1 { // being thrown back is no part of the fall
			obs = all[:landing(all)]
		}
	}
	if obs = untilSecondLanding(obs); in.byStamps != nil && len(obs) < len(given) {
		obs = in.stamped(len(obs))
	}
	in.Observations = obs
	s := newSeries(obs, &in)
	if s == nil {
		return in.silent(all, "the vehicle does not leave its place in any frame"), nil
	}
	if moving := len(obs) - s.move; moving < fewestMoving {
		return in.silent(all, fmt.Sprintf("only %d frames show the vehicle moving; at least %d are needed", moving, fewestMoving)), nil
	}
	e := effortFor(len(obs) - s.move)
	e.workers = workers
	warn := levelled(&in, s, e)
	if warn != nil {
		s = newSeries(in.Observations, &in)
		levelledBy(in.byStamps, in.Observations)
	}
	post, by, aside, err := byClocks(ctx, &in, s, e)
	if err != nil {
		return nil, err
	}
	if by.stray > 0 {
		all = timesFolded(timed(given, by.share, by.stray))
	}
	warn = append(warn, aside...)
	if post == nil || len(post.pops) == 0 {
		return in.silent(all, "the heights do not look like a launch: no motion fits them"), nil
	}
	m := &measurement{in: &in, all: all, post: post, effort: e}
	res, err := m.run(ctx)
	if err != nil {
		return nil, err
	}
	res.Clock = newClock(given, in.Observations, by)
	res.Warnings = append(warn, res.Warnings...)
	return res, nil
}

// fewestDraws is how many draws an answer has at least.
const fewestDraws = 4096

// silent answers every question about a launch with "insufficient" and the reason.
func (in *Input) silent(all []Observation, reason string) *Result {
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
	if in.Questions.DropCheck { // a fall may show where a launch does not
		a, draws, warn := in.freeFall(all, fewestDraws)
		r.Answers, r.Draws, r.Warnings = append(r.Answers, a), append(r.Draws, draws), warn
	}
	return r
}

// measurement is one run of Measure.
type measurement struct {
	in     *Input
	all    []Observation // before any was set aside, those after a landing too
	post   *posterior
	effort effort

	window  float64
	qs      []question
	values  [][]float64 // per question, per draw; NaN where not reached
	stand   [][]float64 // stand-ins where not reached
	held    [][][]float64
	history [][]moments // per chunk, per frame
	atEnd   []bool      // per draw: the highest speed is at the last frame
	atStart []bool      // per draw: it is at the first frame
	central *path       // the vehicle's own motion at its best value
	centre  place
	sources []string
}

// budgetDraws is how many of the draws the budget and the history are taken from.
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
	m.sources = m.in.sources()
	if m.central = m.post.central(); m.central == nil {
		return m.in.silent(m.all, "the heights do not look like a launch: no motion fits them"), nil
	}
	m.centre = m.central.peaks(m.window)
	m.centre.leave = m.central.last()
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
	m.atEnd, m.atStart = make([]bool, n), make([]bool, n)
}

// see returns the function that reads every draw.
func (m *measurement) see() func(chunk, draw int, p, mean *path) {
	readings := make([]reading, chunks)
	last := make([]place, chunks)
	return func(c, i int, p, mean *path) {
		r := &readings[c]
		if i%2 == 0 {
			last[c] = mean.peaks(m.window)
			last[c].leave = m.leave(mean, i)
		}
		at := last[c]
		m.atEnd[i], m.atStart[i] = at.speed >= p.last(), p.underWay && at.speed <= p.t0
		r.reset(p, m.in.truthOf(p.even, i, ""))
		m.read(r, at, i, m.values, m.stand)
		if i < budgetDraws {
			m.record(r, m.history[c])
			last := len(m.sources) - 1 // trace noise
			for s, name := range m.sources[:last] {
				r.reset(p, m.in.truthOf(p.even, i, name))
				m.read(r, at, i, m.held[s], m.held[s])
			}
			r.reset(m.central, m.in.truthOf(m.central.even, i, ""))
			m.read(r, m.centre, i, m.held[last], m.held[last])
		}
	}
}

// leave draws the instant at which the vehicle leaves the view: the last frame, or, where it
// left the picture before the footage ended, anywhere in the frame interval after it.
func (m *measurement) leave(p *path, draw int) float64 {
	last := p.last()
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

func (m *measurement) result(n int) *Result {
	res := &Result{Lane: m.in.Lane, History: m.states()}
	for j := range m.qs {
		a, draws := m.settle(j)
		res.Answers = append(res.Answers, a)
		res.Draws = append(res.Draws, draws)
	}
	if m.window == 0 {
		a := metrology.Answer{ID: PeakAcceleration, Lane: m.in.Lane, Unit: "m/s2", Status: metrology.Insufficient,
			Reason: "too few frames show the vehicle moving to take a mean acceleration over three of them"}
		if w := m.in.Questions.Window; w > 0 {
			a.Window, a.Reason = &w, "the window is longer than the vehicle is seen moving"
		}
		res.Answers, res.Draws = append(res.Answers, a), append(res.Draws, nil)
	}
	res.Warnings = m.warnings(res)
	if m.in.Questions.DropCheck {
		a, draws, warn := m.in.freeFall(m.all, n)
		res.Answers, res.Draws, res.Warnings = append(res.Answers, a), append(res.Draws, draws), append(res.Warnings, warn...)
	}
	return res
}
