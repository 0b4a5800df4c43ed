package desk

import (
	"context"
	"fmt"
	"slices"

	"padside/camera"
	"padside/fault"
	"padside/flight"
	"padside/footage"
	"padside/guard"
	"padside/logbook"
	"padside/motion"
	"padside/timebase"
	"padside/trace"
)

// Options says how to measure. The zero value is the documented default.
type Options struct {
	Seed     uint64                              // of all draws; 0 means 1
	Progress func(stage string, done, total int) // may be nil; called from several goroutines in turn

	window float64 // s, of the largest acceleration; 0: the shortest that says something
}

func (o Options) progress(stage string, done, total int) {
	if o.Progress != nil {
		o.Progress(stage, done, total)
	}
}

// Measurement is a launch measured: the sheet that is kept, and what pictures are drawn from.
type Measurement struct {
	Launch *logbook.Launch
	Sheet  *Sheet
	Lanes  []Lane
	base   *timebase.Base
	clock  clock
	id     footage.Identity
}

// Lane is one vehicle of the footage.
type Lane struct {
	Path    trace.Path
	Scale   *camera.Scale
	Heights []motion.Observation // one per point of the path
	Motion  *motion.Result

	band *trace.Streak // of Path.Streak what can be drawn against height; nil: nothing
	told motion.Input  // what motion was given: of Heights, those that say something, and what they share
}

// Measure reads a launch file, follows its footage and answers its questions.
// Errors are of type fault.Error: a wrong request, or footage that holds no answer.
func Measure(ctx context.Context, path string, o Options) (*Measurement, error) {
	l, err := logbook.ReadLaunch(path)
	if err != nil {
		return nil, err
	}
	f, err := followLaunch(ctx, l, o)
	if err != nil {
		return nil, err
	}
	return f.answer(ctx, l, o)
}

// followed is footage whose vehicles were followed: all that answering needs of it.
type followed struct {
	info footage.Info
	base *timebase.Base
	seen *trace.Result
	id   footage.Identity // of what was read
}

// followLaunch opens the footage of a launch and follows its vehicles.
func followLaunch(ctx context.Context, l *logbook.Launch, o Options) (*followed, error) {
	lay, err := footage.Identify(l.Footage.Path)
	if err != nil {
		return nil, err
	}
	shot, err := footage.Open(ctx, l.Footage.Path, footage.Options{Rotate: l.Footage.Rotate})
	if err != nil {
		return nil, err
	}
	defer shot.Close()
	f := &followed{info: shot.Info()}
	if f.base, err = timeBase(l, f.info); err != nil {
		return nil, err
	}
	if err := withinFootage(l, f.info.Frames); err != nil {
		return nil, err
	}
	digested := guard.Go(func() (err error) {
		f.id, err = shot.Digest(ctx)
		return err
	})
	f.seen, err = follow(ctx, l, shot, f.base, o)
	unread := <-digested
	if err != nil {
		return nil, err
	}
	if unread != nil {
		return nil, unread
	}
	if now, err := footage.Identify(l.Footage.Path); err != nil || !lay.Unread(f.id) || !lay.Unread(now) {
		return nil, fault.Requestf("wait until it is copied or recorded whole, and measure again", "the footage %s changed while it was measured", l.Footage.Path)
	}
	f.info = shot.Info() // reading may have found where the footage ends early
	return f, nil
}

// answer turns what was followed into the answers a launch file asks for.
func (f *followed) answer(ctx context.Context, l *logbook.Launch, o Options) (*Measurement, error) {
	seed := max(1, o.Seed)
	m := &Measurement{Launch: l, base: f.base, clock: f.clock(l), Sheet: newSheet(l, f.info, f.base, seed)}
	m.Sheet.Footage.SHA256, m.id = f.id.SHA256, f.id
	m.warn(footageDoubts(f.info.Warnings, f.base.Basis))
	m.warn(f.seen.Warnings)
	for i, p := range f.seen.Paths {
		o.progress("motion", i, len(f.seen.Paths))
		seen := seenLane(l, p, f)
		seen.digest = f.id.SHA256
		lane, warnings, err := seen.measure(ctx, l, f.info, o)
		if len(f.seen.Paths) > 1 {
			warnings = ofLane(p.Lane, warnings)
		}
		m.warn(warnings)
		if err != nil {
			return nil, err
		}
		lane.Path, lane.band = p, levelRows(p.Streak, lane.Scale)
		m.add(lane)
	}
	return m, nil
}

// ofLane says of which of several vehicles warnings speak.
func ofLane(lane int, list []fault.Warning) []fault.Warning {
	out := slices.Clone(list)
	for i := range out {
		out[i].Message = fmt.Sprintf("lane %d: %s", lane, out[i].Message)
	}
	return out
}

// stampDoubts are the footage's warnings about its own stamps.
var stampDoubts = [...]string{"no-stamps", "untrusted-stamps", "slowed", "coarse-stamps", "variable-rate", "times-not-rising", "whole-seconds", "times-missing"}

// footageDoubts leaves out what is doubtful about stamps that are not used: where the launch
// file gives the rate or the times.
func footageDoubts(list []fault.Warning, basis timebase.Basis) []fault.Warning {
	if basis != timebase.Rate && basis != timebase.List {
		return list
	}
	return slices.DeleteFunc(slices.Clone(list), func(w fault.Warning) bool { return slices.Contains(stampDoubts[:], w.Code) })
}

// warn adds warnings, each code and message once.
func (m *Measurement) warn(list []fault.Warning) {
next:
	for _, w := range list {
		for _, have := range m.Sheet.Warnings {
			if have == w {
				continue next
			}
		}
		m.Sheet.Warnings = append(m.Sheet.Warnings, w)
	}
}

func follow(ctx context.Context, l *logbook.Launch, shot *footage.Footage, base *timebase.Base, o Options) (*trace.Result, error) {
	to := shot.Len()
	if l.Footage.To >= to && shot.Info().Complete {
		return nil, fault.Requestf("choose from and to within the footage: frames count from 0",
			"%s: [footage] to = %d is beyond the footage, whose last frame is %d", l.Path, l.Footage.To, to-1)
	}
	if l.Footage.To >= 0 {
		to = min(to, l.Footage.To+1)
	}
	if l.Footage.From >= to {
		return nil, fault.Requestf("choose from and to within the footage",
			"%s: [footage] from = %d leaves no frame of %d", l.Path, l.Footage.From, shot.Len())
	}
	opts := trace.Options{
		From: l.Footage.From, To: to,
		Frame: l.Trace.Frame, Lanes: l.Trace.Lanes, NoFollow: !l.Trace.Follow, FixedCamera: l.Trace.Fixed,
		ExpectDown: l.Questions.DropCheck,
		Rod:        rodWay(l), Rises: rises(l),
		FrameTime: func(i int) float64 { return base.Time(i, 0) },
		Exposure:  base.Exposure, ExposureGiven: exposureStated(l, shot.Info()),
		Progress: func(i int) { o.progress("follow", i-l.Footage.From, to-l.Footage.From) },
	}
	if b := l.Trace.Box; b != nil {
		opts.Box = &trace.Box{X: b[0], Y: b[1], W: b[2], H: b[3]}
	}
	for _, b := range l.Trace.Steady {
		opts.Steady = append(opts.Steady, trace.Box{X: b[0], Y: b[1], W: b[2], H: b[3]})
	}
	opts.Marks = marksOf(l)
	return trace.Follow(ctx, shot, opts)
}

// marksOf are a launch's marks as trace takes them.
func marksOf(l *logbook.Launch) []trace.Mark {
	var out []trace.Mark
	for _, k := range l.Trace.Marks {
		out = append(out, trace.Mark{Frame: k.Frame, Lane: k.Lane, X: k.X, Y: k.Y, U: k.U})
	}
	return out
}

func questions(l *logbook.Launch) motion.Questions {
	q := motion.Questions{Gates: l.Questions.Gates, DropCheck: l.Questions.DropCheck,
		Gravity: flight.LocalGravity(l.Latitude, l.Elevation)}
	for _, v := range l.Questions.Speeds {
		q.Speeds = append(q.Speeds, v.Value)
	}
	return q
}
