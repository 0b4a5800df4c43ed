package motion

import (
	"context"
	"fmt"
	"math"
	"runtime"
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
	post, err := infer(ctx, s, e, in.Seed)
	if err != nil {
		return nil, err
	}
	if len(post.pops) == 0 {
		return in.silent("the heights do not look like a launch: no motion fits them"), nil
	}
	m := &measurement{in: &in, post: post, effort: e}
	return m.run(ctx)
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
	places  []place
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
	m.places = make([]place, n)
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
		m.places[i] = at
		m.atEnd[i] = at.speed >= p.knots[len(p.knots)-1].t
		r.reset(p, m.in.truth(i, ""))
		m.read(r, at, i, m.values, m.stand)
		m.record(r, m.history[c])
		if i < budgetDraws {
			for s, name := range m.sources {
				r.reset(p, m.in.truth(i, name))
				m.read(r, at, i, m.held[s], m.held[s])
			}
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
	j := 0
	for i, o := range m.in.Observations {
		if o.T <= r.p.t0 {
			h[i].add(vec{})
			continue
		}
		for j < len(k)-1 && k[j].t < o.T-1e-9*math.Abs(o.T) {
			j++
		}
		x := k[j].x
		if math.Abs(k[j].t-o.T) > 1e-9*math.Abs(o.T) {
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
	res.Warnings = m.warnings()
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
	m.fill(&a, j)
	return a, values
}

func (m *measurement) fill(a *metrology.Answer, j int) {
	values := m.values[j]
	sorted := append([]float64(nil), values...)
	sort.Float64s(sorted)
	value, u := quantile(sorted, 0.5), deviation(values)
	lo, hi := shortest(sorted, 0.95)
	a.Status, a.Value, a.U, a.Interval = metrology.Measured, &value, &u, &[2]float64{lo, hi}
	a.Budget = m.budget(j)
}

// budget returns the share of each source: how much of the variance goes when it is held.
func (m *measurement) budget(j int) []metrology.Share {
	n := min(len(m.values[j]), budgetDraws)
	all := deviation(m.values[j][:n])
	if all == 0 {
		return nil
	}
	var shares []metrology.Share
	rest := 1.0
	for s, name := range m.sources {
		held := deviation(m.held[s][j][:n])
		f := math.Max(0, math.Min(1, 1-held*held/(all*all)))
		rest -= f
		shares = append(shares, metrology.Share{Source: name, Share: f})
	}
	shares = append(shares, metrology.Share{Source: traceNoise, Share: math.Max(0, math.Min(1, rest))})
	sort.SliceStable(shares, func(a, b int) bool { return shares[a].Share > shares[b].Share })
	return shares
}

func (m *measurement) warnings() []fault.Warning {
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
	return out
}

// deviation returns the standard deviation of x.
func deviation(x []float64) float64 {
	if len(x) < 2 {
		return 0
	}
	ref, sum, sq := x[0], 0.0, 0.0
	for _, v := range x {
		sum += v - ref
	}
	mean := sum / float64(len(x))
	for _, v := range x {
		d := v - ref - mean
		sq += d * d
	}
	return math.Sqrt(sq / float64(len(x)-1))
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

// shortest returns the shortest interval that holds a fraction p of the sorted values (JCGM 101 7.7).
func shortest(sorted []float64, p float64) (lo, hi float64) {
	n := len(sorted)
	k := int(math.Ceil(p * float64(n)))
	if k >= n {
		return sorted[0], sorted[n-1]
	}
	best := 0
	for i := 0; i+k < n; i++ {
		if sorted[i+k]-sorted[i] < sorted[best+k]-sorted[best] {
			best = i
		}
	}
	return sorted[best], sorted[best+k]
}
