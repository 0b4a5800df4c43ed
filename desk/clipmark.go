package desk

import (
	"fmt"
	"image"
	"math"
	"slices"
	"strings"

	"padside/fault"
	"padside/metrology"
	"padside/motion"
	"padside/picture"
	"padside/study"
	"padside/wording"
)

// marking is a marked clip being made: one vehicle, what is known of it, and which frames are shown
// how long.
type marking struct {
	o        ClipOptions
	entry    clipEntry
	m        *Measurement
	lane     *Lane
	title    string
	one      runner
	timed    bool // first motion was measured: times count from it; else from the first frame
	moves    bool // the motion was answered
	answers  []metrology.Answer
	read     wording.Reader
	usual    motion.State // of its uncertainties, the middle ones
	cadence  cadence
	runs     []run
	frozen   map[int]bool // of runs
	splits   []split
	gates    []gateLine
	shakes   bool // the camera moved by more than a pixel
	fit      picture.Fitted
	paper    *picture.Marked
	warnings []fault.Warning
}

// gateLine is a height, where its line is seen while the camera stands as at rest, and when it is
// passed.
type gateLine struct {
	height float64
	line   []picture.Spot // px of the footage
	at     float64        // s after first motion; +Inf: not known
}

// newMarking lays out the clip of a vehicle.
func newMarking(m *Measurement, f *followed, e clipEntry, o ClipOptions) (*marking, error) {
	k := &marking{o: o, entry: e, m: m, frozen: map[int]bool{}}
	n, err := k.choose()
	if err != nil {
		return nil, err
	}
	k.lane, k.title = &m.Lanes[n], titleFor(m, n)
	k.one = *runnerOf(m, n, f)
	k.answer(n)
	k.one.clock(m)
	if k.read, err = wording.New(m.Launch.Questions, o.Units); err != nil {
		return nil, err
	}
	k.usualStates()
	k.findSplits()
	if err := k.pace(); err != nil {
		return nil, err
	}
	k.moved()
	k.findGates()
	k.lay(f)
	return k, nil
}

// choose picks the vehicle, from 0.
func (k *marking) choose() (int, error) {
	lanes := len(k.m.Lanes)
	switch {
	case k.entry.lane > lanes:
		return 0, fault.Requestf(fmt.Sprintf("its vehicles are numbered from 1 to %d, left to right", lanes), "%s shows no vehicle %d", k.m.Launch.Path, k.entry.lane)
	case k.entry.lane > 0:
		return slices.IndexFunc(k.m.Lanes, func(l Lane) bool { return l.Path.Lane == k.entry.lane }), nil
	case lanes > 1:
		k.warn("one-lane", fmt.Sprintf("the footage shows %d vehicles, and a clip marks one: the first; %s:2 marks the second", lanes, k.m.Launch.Path))
	}
	return 0, nil
}

func (k *marking) warn(code, message string) {
	k.warnings = append(k.warnings, fault.Warning{Code: code, Message: message})
}

// answer takes over the answers, gates counted from first motion. Where that was not measured, the
// clock's zero is where the footage begins.
func (k *marking) answer(n int) {
	r := k.lane.Motion
	l := study.Launch{Answers: r.Answers, Draws: r.Draws}
	for i := range r.Answers {
		a, _ := l.SinceFirstMotion(i)
		if a.ID == motion.FirstMotion {
			k.one.zero, k.timed = a, a.Value != nil
		}
		a.Lane = k.lane.Path.Lane
		k.answers = append(k.answers, a)
	}
	if !k.timed {
		start := k.m.base.Time(k.m.Launch.Footage.From, 0) - 1e-9 // before the first frame: a motion counts from there
		k.one.zero.Value = &start
	}
	k.moves = k.answered() && len(r.History) > 0
}

// usualStates takes the middle uncertainties of the motion in view.
func (k *marking) usualStates() {
	var v, a []float64
	for _, s := range k.one.motion {
		if s.USpeed > 0 && s.UAcceleration > 0 {
			v, a = append(v, s.USpeed), append(a, s.UAcceleration)
		}
	}
	slices.Sort(v)
	slices.Sort(a)
	if n := len(v); n > 0 {
		k.usual = motion.State{USpeed: v[n/2], UAcceleration: a[n/2]}
	}
}

// moved finds out whether the camera moved.
func (k *marking) moved() {
	for _, p := range k.one.path.Points {
		dx, dy := k.one.seen.Shake(p.Frame, p.X, p.Y)
		if math.Hypot(p.Col-p.X, p.Row-p.Y) > 1 || math.Hypot(dx, dy) > 1 {
			k.shakes = true
			return
		}
	}
}

// Gates' lines reach so far to either side at rest: a share of the picture's width and of its
// height, the smaller.
const gateOfWidth, gateOfHeight = 0.2, 0.16

// findGates works out where gates are seen. They are equally long in space.
func (k *marking) findGates() {
	if k.o.hides("gates") {
		return
	}
	one := &k.one
	if slices.ContainsFunc(k.lane.Motion.Warnings, func(w fault.Warning) bool { return w.Code == "first-motion-before-footage" }) {
		if len(k.m.Launch.Questions.Gates) > 0 {
			k.warn("gates-unmarked", "gates are not marked: the place at rest, from which their heights count, was not filmed")
		}
		return
	}
	rule := one.rule()
	half := min(gateOfWidth*float64(one.size[0]), gateOfHeight*float64(one.size[1]))
	asked := slices.Clone(k.m.Launch.Questions.Gates)
	slices.Sort(asked)
	for _, h := range slices.Compact(asked) {
		p := rule.place(h)
		along := (p.X-rule.rest.X)*rule.along.X + (p.Y-rule.rest.Y)*rule.along.Y
		// Along the flight a pinhole shows a metre by the square of what it shows across it.
		reach := half * math.Sqrt(one.scale.MetresPerPixel(0)/one.scale.MetresPerPixel(along))
		if math.IsNaN(reach) || math.IsInf(reach, 0) || math.Abs(along) > 4*math.Hypot(float64(one.size[0]), float64(one.size[1])) {
			continue // beyond what the scale can say
		}
		g := gateLine{height: h, at: math.Inf(1)}
		for _, q := range one.scale.Level(along, reach) {
			g.line = append(g.line, picture.Spot{X: q.X, Y: q.Y})
		}
		for _, a := range k.answers {
			if k.timed && a.ID == motion.GateCrossing && a.Value != nil && sameHeight(*a.Height, h) {
				g.at = *a.Value
			}
		}
		k.gates = append(k.gates, g)
	}
}

// lay lays the footage on the canvas and prepares the paper.
func (k *marking) lay(f *followed) {
	size := image.Pt(f.info.Width, f.info.Height)
	box, flight := k.flown()
	middle := picture.Spot{X: (box[0].X + box[1].X) / 2, Y: (box[0].Y + box[1].Y) / 2}
	shape := k.o.shape(size)
	margin := 0.02 * float64(min(size.X, size.Y))
	k.fit = picture.Fit(size, shape, k.o.Fit != "pad", middle)
	if k.o.Fit == "" && !(k.fit.Shows(box[0], margin) && k.fit.Shows(box[1], margin)) {
		k.fit = picture.Fit(size, shape, false, middle)
	}
	if beside := k.fit.Canvas.X - size.X; beside > 1 && beside < size.X && 3*k.fit.Canvas.X < 4*k.fit.Canvas.Y { // little to either side, much to one
		k.fit = k.fit.Aside()
	}
	spec := picture.MarkedSpec{Fit: k.fit, Flight: flight}
	if !k.o.hides("title") {
		spec.Title, spec.Caption = k.title, k.caption()
	}
	for _, g := range k.gates {
		spec.Gates = append(spec.Gates, picture.MarkedGate{Label: k.read.GateText(g.height), Line: g.line})
	}
	if !k.o.hides("splits") {
		for _, s := range k.splits {
			spec.Splits = append(spec.Splits, s.cells)
		}
	}
	spec.Clock, spec.Readings = k.widest()
	k.paper = picture.NewMarked(spec)
	if missing := picture.NotHeld(k.title + k.conditions()); len(missing) > 0 && !(k.o.hides("title") && k.o.hides("card")) {
		k.warn("letters-missing", fmt.Sprintf("the built-in type does not hold %d letters of the title or the conditions, such as %q: they are drawn as boxes", len(missing), string(missing[0])))
	}
}

// caption says how slowly the clip plays.
func (k *marking) caption() string { return fmt.Sprintf("slowed %.3g times", k.cadence.slow) }

// conditions are what was flown, in one line.
func (k *marking) conditions() string {
	var out []string
	for _, c := range k.m.Launch.Conditions {
		out = append(out, strings.ReplaceAll(c.Key, "_", " ")+" "+c.Text)
	}
	return strings.Join(out, ", ")
}

// flown is the part of the picture in which the vehicle is seen, as two corners, and the two ends
// of its way, px.
func (k *marking) flown() (box, flight [2]picture.Spot) {
	l := k.one.path.Line
	rest := picture.Spot{X: l.Rest.X, Y: l.Rest.Y}
	tail := min(k.one.path.Length, 0.25*math.Hypot(float64(k.one.size[0]), float64(k.one.size[1])))
	box = [2]picture.Spot{rest, rest}
	add := func(x, y float64) {
		box[0].X, box[0].Y = min(box[0].X, x), min(box[0].Y, y)
		box[1].X, box[1].Y = max(box[1].X, x), max(box[1].Y, y)
	}
	add(rest.X-tail*l.Ux, rest.Y-tail*l.Uy)
	flight = [2]picture.Spot{rest, rest}
	for _, p := range k.one.path.Points {
		add(p.Col, p.Row)
		flight[1] = picture.Spot{X: p.Col, Y: p.Row}
	}
	return box, flight
}

// at takes a place of the flight line as seen at rest to a frame of the footage, from 0 of those
// used; false where the camera moved and nobody knows how.
func (k *marking) at(frame int, s picture.Spot) (picture.Spot, bool) {
	n := frame + k.one.first
	if !k.shakes {
		return s, true
	}
	if k.one.seen.Steadied(n) {
		dx, dy := k.one.seen.Shake(n, s.X, s.Y)
		return picture.Spot{X: s.X + dx, Y: s.Y + dy}, true
	}
	return s, false
}
