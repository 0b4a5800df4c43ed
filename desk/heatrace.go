package desk

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"

	"padside/fault"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/rules"
	"padside/study"
	"padside/wording"
)

// racing is a heat under way.
type racing struct {
	file    *logbook.HeatFile
	o       Options
	entries []racer
	lenient bool              // a launch that cannot be read is its entry's problem, and does not end the heat
	asked   logbook.Questions // of the first launch, before the heat asked its own
}

// racer is one entry: a launch, or a lane of it.
type racer struct {
	logbook.HeatEntry
	launch   *logbook.Launch
	lane     *Lane
	sheet    *Sheet
	unread   bool // launch is a stand-in
	problem  string
	standing HeatStanding // NoResult or Waiting, where problem says why
}

// gather reads the launches of all entries. An entry that names no lane of a launch with several stands for all of them.
func (r *racing) gather(read func(path string) (*logbook.Launch, error)) error {
	byPath := map[string]*logbook.Launch{}
	for i, e := range r.file.Entries {
		l, err := byPath[filepath.Clean(e.Launch)], error(nil)
		if l == nil {
			if l, err = read(e.Launch); err == nil {
				if len(byPath) == 0 {
					r.asked = l.Questions
				}
				r.ask(l)
				byPath[filepath.Clean(e.Launch)] = l
			}
		}
		if err == nil && e.Lane > l.Trace.Lanes {
			err = fault.Requestf("write lanes under [trace] of the launch file, or name one that is there",
				"it asks for lane %d of %s, which shows %d", e.Lane, e.Given, l.Trace.Lanes)
		}
		switch {
		case err != nil && r.lenient:
			stub := &logbook.Launch{Path: e.Launch, Trace: logbook.Trace{Lanes: max(1, e.Lane)}}
			r.entries = append(r.entries, racer{HeatEntry: e, launch: stub, unread: true, standing: NoResult, problem: err.Error()})
		case err != nil:
			return inEntry(i, err)
		default:
			r.enter(e, l)
		}
	}
	return nil
}

// enter adds an entry, or one for each lane.
func (r *racing) enter(e logbook.HeatEntry, l *logbook.Launch) {
	if e.Lane > 0 || l.Trace.Lanes == 1 {
		r.entries = append(r.entries, racer{HeatEntry: e, launch: l})
		return
	}
	for lane := 1; lane <= l.Trace.Lanes; lane++ {
		one := e
		one.Lane = lane
		one.Number = fmt.Sprintf("%s.%d", e.Number, lane)
		r.entries = append(r.entries, racer{HeatEntry: one, launch: l})
	}
}

// inEntry says which entry an error is about.
func inEntry(i int, err error) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return fmt.Errorf("entry %d: %w", i+1, err)
	}
	g := *f
	g.Message, g.Cause = fmt.Sprintf("entry %d: %s", i+1, f.Message), err
	return &g
}

// ask puts the heat's question to a launch, in place of its own: what is not raced on need not be answered.
func (r *racing) ask(l *logbook.Launch) {
	q := r.file.Question
	drop := l.Questions.DropCheck
	l.Questions = logbook.Questions{DropCheck: drop}
	switch {
	case q.Answer == motion.TimeToSpeed || q.Answer == motion.MeanAccelerationToSpeed:
		l.Questions.Speeds = append(l.Questions.Speeds, q.At)
	case q.Answer == motion.GateCrossing || q.Answer == motion.GateSpeed:
		l.Questions.Gates, l.Questions.GateUnit = []float64{q.At.Value}, q.At.Unit
	}
}

// answerOf is the question raced on, as an answer without a value.
func (r *racing) answerOf() metrology.Answer {
	q := r.file.Question
	a := metrology.Answer{ID: q.Answer, Unit: map[string]string{motion.TimeToSpeed: "s", motion.GateCrossing: "s",
		motion.MeanAccelerationToSpeed: "m/s2", motion.PeakAcceleration: "m/s2"}[q.Answer]}
	if a.Unit == "" {
		a.Unit = "m/s"
	}
	at := q.At.Value
	switch q.Answer {
	case motion.TimeToSpeed, motion.MeanAccelerationToSpeed:
		a.Speed = &at
	case motion.GateCrossing, motion.GateSpeed:
		a.Height = &at
	}
	return a
}

// measuring answers a launch's questions.
type measuring func(ctx context.Context, l *logbook.Launch, o Options) (*Measurement, error)

// run measures every launch, checks the rules and puts the entries in order.
func (r *racing) run(ctx context.Context, measure measuring) (*HeatSheet, error) {
	window := 0.0
	for {
		list, err := r.measure(ctx, measure, window)
		if err != nil {
			return nil, err
		}
		w := widest(list)
		if r.file.Question.Answer != motion.PeakAcceleration || w <= window {
			break
		}
		window = w // all are compared over the longest window that one of them needs
	}
	return r.sheet(), nil
}

// measure answers each launch once; what one of them cannot answer is kept as its entries' problem.
func (r *racing) measure(ctx context.Context, measure measuring, window float64) ([]*Measurement, error) {
	var list []*Measurement
	done := map[*logbook.Launch]*Measurement{}
	failed := map[*logbook.Launch]error{}
	for i := range r.entries {
		e := &r.entries[i]
		if e.problem != "" && e.lane == nil {
			continue
		}
		m, err := done[e.launch], failed[e.launch]
		if m == nil && err == nil {
			o := r.o
			o.window = window
			if m, err = measure(ctx, e.launch, o); err == nil {
				list = append(list, m)
			}
			done[e.launch], failed[e.launch] = m, err
		}
		if err := e.take(m, err); err != nil {
			return nil, inEntry(i, err)
		}
	}
	return list, nil
}

// take keeps what was measured of an entry. Footage without an answer is a result of its own; any other error ends the heat.
func (e *racer) take(m *Measurement, err error) error {
	var f *fault.Error
	w, waits := waitsFor(err)
	switch {
	case waits:
		e.standing, e.problem = Waiting, string(w)
		return nil
	case errors.As(err, &f) && f.Kind == fault.NoAnswer:
		e.standing, e.problem = NoResult, f.Message
		return nil
	case err != nil:
		return err
	}
	e.sheet = m.Sheet
	for k := range m.Lanes {
		if e.Lane == 0 || m.Lanes[k].Path.Lane == e.Lane {
			e.lane = &m.Lanes[k]
			return nil
		}
	}
	e.standing, e.problem = NoResult, fmt.Sprintf("no vehicle was followed in lane %d", e.Lane)
	return nil
}

// sheet checks the rules and orders the entries.
func (r *racing) sheet() *HeatSheet {
	of := r.answerOf()
	s := &HeatSheet{Format: "padside-heat", Version: 1, Program: Program, Seed: max(1, r.o.Seed), Title: r.file.Title, Date: r.file.Date, asked: r.questions(),
		Rules: []rules.Rule{}, Order: [][]int{}, Warnings: []fault.Warning{}}
	s.Question = HeatQuestion{ID: of.ID, Speed: of.Speed, Height: of.Height, Unit: of.Unit,
		Smaller: of.ID == motion.TimeToSpeed || of.ID == motion.GateCrossing}
	var launches []study.Launch
	var races []bool
	var stated []rules.Stated
	for i := range r.entries {
		stated = append(stated, r.entries[i].condition)
	}
	judged := rules.Judge(r.file.Rules, stated)
	for _, one := range judged {
		s.Rules = append(s.Rules, one.Rule)
	}
	for i := range r.entries {
		line := r.entries[i].line(judged, i)
		launches = append(launches, r.entries[i].study(line.called()))
		races = append(races, line.Standing == Classified)
		s.Entries = append(s.Entries, line)
	}
	h := study.RunHeat(launches, of, races, s.Question.Smaller)
	s.Ratios, s.Diffs, s.Odds = h.Row.Ratios, h.Row.Differences, h.Row.Odds
	s.Order = h.Order
	s.Warnings = append(s.Warnings, h.Warnings...)
	for i := range s.Entries {
		e := &s.Entries[i]
		e.Answer = h.Row.Each[i]
		if e.Standing == Classified && e.Answer.Value == nil {
			e.Standing, e.Reasons = NoResult, append(e.Reasons, noValue(e.Answer))
		}
	}
	for k, p := range s.Order {
		for _, n := range p {
			e := &s.Entries[n-1]
			e.Place, e.First = study.PlaceWords(s.Order, k), &h.First[n-1]
		}
	}
	s.doubts()
	r.unruled(s)
	r.cautions(s)
	if rd, err := wording.New(s.asked, wording.Units{}); err == nil {
		s.Question.Words = s.racedOn(rd)
	}
	return s
}

// noValue says why an answer has none.
func noValue(a metrology.Answer) string {
	switch {
	case a.Reason != "":
		return a.Reason
	case a.Status == metrology.NotReached:
		return "did not reach it in view"
	}
	return "the footage cannot say"
}

// questions are what the reader's units come from.
func (r *racing) questions() logbook.Questions {
	q := r.asked
	if r.file.Question.Of == 0 {
		return q
	}
	var l logbook.Launch
	r.ask(&l)
	q.Speeds = append(l.Questions.Speeds, q.Speeds...)
	if l.Questions.GateUnit != "" {
		q.GateUnit = l.Questions.GateUnit
	}
	return q
}

// study is the entry as package study takes it.
func (e *racer) study(title string) study.Launch {
	one := study.Launch{Title: title, Setup: e.launch.Setup, Lane: e.Lane}
	if one.Setup == "" {
		one.Setup = e.launch.Path // one camera saw all lanes
	}
	if e.lane != nil {
		one.Answers, one.Draws, one.Warnings = e.lane.Motion.Answers, e.lane.Motion.Draws, e.sheet.Warnings
	}
	return one
}
