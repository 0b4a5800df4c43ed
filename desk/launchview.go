package desk

import (
	"cmp"
	"context"
	"fmt"
	"runtime"
	"strings"

	"padside/camera"
	"padside/guard"
	"padside/logbook"
	"padside/motion"
	"padside/units"
	"padside/wording"
)

// Names of files kept beside a launch file, beyond those of measure --out.
const (
	exposureFile = "exposure.jpg"
	recorderFile = "recorder.json"
	answersFile  = "answers.json"
)

func bandFile(lane int) string { return fmt.Sprintf("band-lane-%d.png", lane) }

// Sheet returns all that the launch page shows but pictures, worded in the units wanted.
func (d *Desk) Sheet(ctx context.Context, name string, want wording.Units) (*View, error) {
	s, err := d.book.State(name)
	if err != nil {
		return nil, err
	}
	return d.view(name, s, want)
}

// view puts together what the files of a launch say.
func (d *Desk) view(name string, s logbook.State, want wording.Units) (*View, error) {
	return d.viewOf(name, s, want, d.kept(name))
}

// viewOf is view of what was kept already read.
func (d *Desk) viewOf(name string, s logbook.State, want wording.Units, k keptLaunch) (*View, error) {
	v := &View{Name: name, Title: name, Revision: s.Revision, CanUndo: s.CanUndo, CanRedo: s.CanRedo, UndoWhat: s.UndoWhat, RedoWhat: s.RedoWhat,
		Conditions: []KeyText{}, Times: []float64{}, Lanes: []LaneView{}, Answers: []wording.Answer{}, Marks: []MarkView{},
		Questions: QuestionsView{Speeds: []string{}, Gates: []string{}}, Units: want}
	l, err := d.book.ResolveText(name, s.Text)
	if err != nil {
		v.State, v.Problem = StateFailed, problemOf(err) // it can still be mended on the page
	} else {
		v.describe(l)
	}
	d.judgeState(v, l, d.standing(l, s.Text), k)
	if k.sheet == nil {
		return v, nil
	}
	v.fill(k.sheet, k.record)
	if l == nil {
		return v, nil
	}
	r, err := wording.New(l.Questions, want)
	if err != nil {
		return nil, err
	}
	for _, a := range k.sheet.Answers {
		v.Answers = append(v.Answers, r.Word(a))
	}
	v.Advice = r.Advice(k.sheet.Answers)
	return v, nil
}

// judgeState says how far the launch is. of is the digest of what its answers depend on, as it stands, but the footage.
func (d *Desk) judgeState(v *View, l *logbook.Launch, of string, k keptLaunch) {
	record := k.record
	v.Job = d.jobs.of(v.Name)
	switch {
	case v.Job != nil && !v.Job.Over():
		v.State = StateMeasuring
	case v.Problem != nil:
	case v.Job != nil && v.Job.State == JobFailed && (record == nil || record.Of != of):
		v.State, v.Problem = StateFailed, v.Job.Problem
	case k.damage != nil:
		v.State, v.Problem = StateFailed, problemOf(k.damage)
	case record == nil:
		v.State = StateNew
	case record.Of != of:
		v.State = StateStale
	default:
		f := d.look(v.Name, l, k)
		if v.State, v.Problem, v.Accepted = f.state, f.problem(), f.noted(); f.accepted {
			v.State = StateMeasured
		}
	}
}

// describe fills in what the launch file says.
func (v *View) describe(l *logbook.Launch) {
	v.Title, v.Vehicle, v.Date, v.Setup = l.Title, l.Vehicle, l.Date, l.Setup
	if v.Title == "" {
		v.Title = v.Name
	}
	v.Conditions = conditionsOf(l)
	for _, q := range l.Questions.Speeds {
		v.Questions.Speeds = append(v.Questions.Speeds, asked(q.Value, q.Unit, units.Speed))
	}
	for _, g := range l.Questions.Gates {
		v.Questions.Gates = append(v.Questions.Gates, asked(g, l.Questions.GateUnit, units.Length))
	}
	v.Questions.DropCheck = l.Questions.DropCheck
	for _, m := range l.Trace.Marks {
		v.Marks = append(v.Marks, MarkView{Lane: max(1, m.Lane), Frame: m.Frame, X: m.X, Y: m.Y})
	}
	v.Follow = FollowView{Frame: l.Trace.Frame, Box: l.Trace.Box, Lanes: l.Trace.Lanes}
}

// asked writes a quantity in the unit it was asked in.
func asked(v float64, unit string, d units.Dimension) string {
	u, ok := units.Lookup(unit, d)
	if !ok {
		u = units.SI(d)
	}
	return fmt.Sprintf("%.6g %s", u.FromSI(v), u.Symbol)
}

func conditionsOf(l *logbook.Launch) []KeyText {
	out := []KeyText{}
	for _, c := range l.Conditions {
		out = append(out, KeyText{c.Key, c.Text})
	}
	return out
}

// fill puts in what was measured.
func (v *View) fill(s *Sheet, r *Recorder) {
	v.Footage, v.Warnings = &s.Footage, s.Warnings
	v.Times, v.From, v.To = r.Times, r.From, r.To
	names := strings.Split(v.Vehicle, ",")
	for _, lane := range r.Lanes {
		one := LaneView{RecorderLane: lane, Name: fmt.Sprintf("lane %d", lane.Lane), Trace: []TraceRow{}, History: []motion.State{}}
		if len(names) == len(r.Lanes) && lane.Lane <= len(names) && strings.TrimSpace(names[lane.Lane-1]) != "" {
			one.Name = strings.TrimSpace(names[lane.Lane-1])
		}
		for _, t := range s.Trace {
			if t.Lane == lane.Lane {
				one.Trace = append(one.Trace, t)
			}
		}
		for _, h := range s.History {
			if h.Lane == lane.Lane {
				one.History = append(one.History, h.State)
			}
		}
		v.Lanes = append(v.Lanes, one)
	}
}

// Cards lists the launches, the one changed last first. One that cannot be read says so on its card.
func (d *Desk) Cards(ctx context.Context) ([]Card, error) {
	names, err := d.book.Names()
	if err != nil {
		return nil, err
	}
	cards := make([]Card, len(names))
	g, ctx := guard.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i := range names {
		g.Go(func() error {
			err := guard.Do(func() (err error) { cards[i], err = d.card(names[i]); return err })
			if guard.Met(err) != nil { // one launch does not close the logbook
				guard.Log("launch "+names[i], err)
				cards[i], err = emptyCard(names[i]), nil
				cards[i].State, cards[i].Problem = StateFailed, "it cannot be shown, for a fault of the program itself that its log tells of"
			}
			return cmp.Or(err, ctx.Err())
		})
	}
	return cards, g.Wait()
}

func emptyCard(name string) Card {
	return Card{Name: name, Title: name, Conditions: []KeyText{}, Chief: []wording.Chief{}}
}

// card sums up a launch.
func (d *Desk) card(name string) (Card, error) {
	c := emptyCard(name)
	s, err := d.book.State(name)
	if err != nil {
		c.State, c.Problem = StateFailed, problemOf(err).Message
		return c, nil
	}
	v, err := d.viewOf(name, s, wording.Units{}, d.brief(name))
	if err != nil {
		return c, err
	}
	c.Title, c.Vehicle, c.Date, c.Setup, c.Conditions, c.State, c.Changed = v.Title, v.Vehicle, v.Date, v.Setup, v.Conditions, v.State, s.Changed
	if v.Problem != nil {
		c.Problem = v.Problem.Message
		if short := v.Problem.Card; short != "" {
			c.Problem = short
		}
	}
	if v.Footage == nil {
		return c, nil
	}
	c.Frames, c.Basis, c.RateHz = v.Footage.Frames, v.Footage.Basis, v.Footage.RateHz
	_, err = d.book.File(name, exposureFile)
	c.Exposure = err == nil
	c.Chief = wording.Chiefs(v.Answers)
	return c, nil
}

// Picture returns a picture kept of a launch: "exposure", the vehicle at equal time steps in one frame, or "streak", the band of
// a lane (one column per frame, rows even in height).
func (d *Desk) Picture(ctx context.Context, name, kind string, lane int) (data []byte, mime, etag string, err error) {
	file, mime := exposureFile, "image/jpeg"
	switch kind {
	case "exposure":
	case "streak":
		file, mime = bandFile(max(1, lane)), "image/png"
	default:
		return nil, "", "", faultUnknown("picture", kind)
	}
	if _, err := d.book.State(name); err != nil {
		return nil, "", "", err
	}
	both := d.book.Together(name, file, recorderFile)
	if data = both[file]; data == nil || !ofResult(both[recorderFile], file, data) {
		return nil, "", "", faultUnknown("picture", name+" "+kind)
	}
	return data, mime, `"` + digestOf(data)[:16] + `"`, nil
}

// Frame returns a frame of a launch's footage, or part of one: JPEG, or PNG for a crop.
func (d *Desk) Frame(ctx context.Context, name string, i int, r FrameRequest) (data []byte, mime string, err error) {
	l, err := d.book.Resolve(name)
	if err != nil {
		return nil, "", err
	}
	f, err := d.shots.open(ctx, l)
	if err != nil {
		return nil, "", err
	}
	return frame(ctx, f, i, r)
}

// Setup returns the setup of a launch with the residuals of its marks.
func (d *Desk) Setup(ctx context.Context, name string) (*SetupView, error) {
	l, s, err := d.resolved(name)
	if err != nil {
		return nil, err
	}
	f, err := d.shots.open(ctx, l)
	if err != nil {
		return nil, err
	}
	v := &SetupView{Revision: s.Revision, FrameWidth: f.Info().Width, FrameHeight: f.Info().Height, Frames: f.Info().Frames, Setup: l.Setup, SharedBy: []string{}}
	var shared []byte
	if l.Setup != "" {
		shared = d.book.SetupText(l.Setup)
		if v.SharedBy, err = d.book.SharedBy(l.Setup); err != nil {
			return nil, err
		}
	}
	if err := v.sections(s.Text, shared); err != nil {
		return nil, err
	}
	line, reach := lineGuess(l, f.Info())
	grows := camera.Growth{}
	if seen, ok := d.laneSeen(name); ok {
		line, reach, grows = seen.line(), seen.reach(), seen.growth()
	}
	v.judgeTime(l, f.Info())
	v.judge(l, f.Info(), line, reach, grows)
	if told := d.leansTold(v.SharedBy, f.Info()); told != "" && v.Problem == nil {
		v.Says = append(v.Says, told)
	}
	return v, nil
}
