package trace

import (
	"context"
	"math"
	"runtime"

	"padside/fault"
	"padside/footage"
	"padside/register"
	"padside/stabilise"
)

// Follow finds the vehicles in the footage, or takes the given box, and follows them until they
// leave the picture or the footage ends. The footage is read once, in order, while earlier
// frames are worked on. What came before the vehicle was found is taken from the frames kept
// (Options.Memory); a rest before those adds nothing and is left out.
//
// Errors are of kind Request (options that cannot be) or NoAnswer (nothing moved, nothing to hold on to).
func Follow(ctx context.Context, src Source, o Options) (*Result, error) {
	o = o.withDefaults(src)
	if err := o.check(src); err != nil {
		return nil, err
	}
	if o.Workers == 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	if len(o.Marks) == 0 || o.NoFollow {
		return followOnce(ctx, src, o)
	}
	// Marks correct what was followed without them. Only where that was lost are they followed from.
	plain := o
	plain.Marks = nil
	res, err := followOnce(ctx, src, plain)
	if err == nil {
		if marked, ok := res.Marked(o.Marks); ok {
			return marked, nil
		}
	} else if ctx.Err() != nil {
		return nil, err
	}
	return followOnce(ctx, src, o)
}

// followOnce is one run through the footage.
func followOnce(ctx context.Context, src Source, o Options) (*Result, error) {
	f := newFollower(src, o)
	defer func() { f.ring.empty() }()
	if o.NoFollow {
		return f.marksOnly(ctx)
	}
	f.skims = true
	if err := f.read(ctx); err != nil {
		return nil, err
	}
	if f.overlooked() {
		f.ring.empty()
		f = newFollower(src, o)
		if err := f.read(ctx); err != nil {
			return nil, err
		}
	}
	if g := f.another(ctx); g != nil {
		defer g.ring.empty()
		return g.finish(ctx)
	}
	return f.finish(ctx)
}

func newFollower(src Source, o Options) *follower {
	f := &follower{src: src, o: o, basis: register.NewBasis(), ring: ring{limit: o.Memory}, drift: stabilise.NewDrift(src)}
	f.width, f.height = src.Size()
	if f.held() {
		f.ring.limit = max(f.ring.limit, 2*fewMemory) // samples of two bytes at most
	}
	f.finder.begin(f.width, f.height)
	return f
}

// follower is one run of Follow.
type follower struct {
	src           Source
	o             Options
	basis         *register.Basis
	width, height int
	ring          ring
	preparer      *preparer
	lanes         []*lane
	steady        *stabilise.Background
	drift         *stabilise.Drift // nil where frames are not coded between others
	still         still
	finder        finder
	glimpsing     bool // quiet stretches are glimpsed at
	inVain        int  // glimpses that soon ended
	skims         bool // the first look is at key frames alone
	skipped       bool // frames were left out that only key frames around them vouch for
	expected      int  // frame by which something is expected to change
	lengths       []float64
	onset         int
	exposures     []Exposure // of the lanes matched
	warnings      []fault.Warning
}

// take works on the next frame.
func (f *follower) take(fr footage.Frame) error {
	f.o.Progress(fr.Index)
	f.drift.Step(fr.Index, f.o.FrameTime(fr.Index), fr.Luma)
	if f.lanes != nil && f.ring.limit > 0 {
		f.layAside()
	}
	f.ring.push(fr)
	if f.lanes == nil {
		if f.o.Box == nil {
			return f.see()
		}
		if f.held() && fr.Index < f.o.To-1 || !f.held() && fr.Index != f.o.Frame {
			return nil
		}
		return f.startBox()
	}
	f.ring.forget()
	return f.step(&f.ring.frames[len(f.ring.frames)-1])
}

// step follows all lanes into a frame.
func (f *follower) step(fr *footage.Frame) error {
	t := f.o.FrameTime(fr.Index)
	f.steady.Step(fr.Index, fr.Luma)
	f.parallel(len(f.lanes), func(_ *register.Scratch, i int) { f.lanes[i].step(fr.Index, t, fr.Luma) })
	busy, moved := false, false
	for _, l := range f.lanes {
		if !l.done {
			f.layOn(l, fr)
		}
		busy = busy || !l.done || l.marked(fr.Index)
		moved = moved || l.moved
	}
	if !moved {
		f.addStill(fr, f.lanes[0].patch)
	}
	if !busy {
		return errDone
	}
	return nil
}

// startBox starts the one lane of a given box, in its frame of the ring.
func (f *follower) startBox() error {
	a := f.o.Box.area(f.width, f.height)
	at := len(f.ring.frames) - 1
	for at > 0 && f.ring.frames[at].Index > f.o.Frame {
		at--
	}
	return f.start(vehicles{at: at, patches: []register.Area{a}, weights: [][]float32{register.Flat(a.W * a.H)}})
}

// start begins a lane per vehicle in frame at of the ring, follows them back to the ring's first frame and forward to its last.
func (f *follower) start(v vehicles) error {
	frames, patches, at := f.ring.frames, v.patches, v.at
	f.steady = stabilise.NewBackground(f.basis, frames[at].Luma, aside(patches, frames[at].Luma), f.o.steady(frames[at].Luma))
	for i := at; i >= 0; i-- {
		f.steady.Step(frames[i].Index, frames[i].Luma)
	}
	for i := range at + 1 { // the oldest first: in the frame of a box the vehicle may move already
		f.addStill(&frames[i], patches[0])
	}
	later := stillOf(frames[at].Luma, f.still.noise)
	for i, a := range patches {
		back := f.newLane(i+1, a, v.weights[i], frames[at].Luma)
		back.backward, back.loose, back.ground = true, true, later
		for k := at; k >= 0; k-- {
			back.step(frames[k].Index, f.o.FrameTime(frames[k].Index), frames[k].Luma)
		}
		l := f.newLane(i+1, a, v.weights[i], frames[at].Luma)
		l.resume(back)
		f.lanes = append(f.lanes, l)
	}
	f.steady.Rewind()
	if f.held() {
		f.leapAll(v)
	}
	for i := at + 1; i < len(frames); i++ {
		if err := f.step(&frames[i]); err != nil {
			return err
		}
	}
	if f.o.Box == nil && !f.held() {
		for i, l := range f.lanes {
			if r := f.retraced(l); r != nil {
				f.lanes[i] = r
			}
		}
	}
	return nil
}

// stillSlack is how far, px, the camera may have moved for a frame to count for the picture at rest.
const stillSlack = 0.3

// addStill averages a frame into the picture at rest where the camera stands as in the first one.
func (f *follower) addStill(fr *footage.Frame, at register.Area) {
	x, y := at.Centre()
	dx, dy := f.steady.Raw(fr.Index, x, y)
	switch {
	case math.Hypot(dx, dy) < stillSlack:
		f.still.add(fr.Luma)
	case f.still.n < stillMoved:
		f.still.add(shifted(fr.Luma, dx, dy))
	}
}

func (f *follower) newLane(number int, a register.Area, weight []float32, l *footage.Luma) *lane {
	n := newLane(number, a, weight, l)
	n.down = f.o.ExpectDown
	if n.down {
		n.ahead = [2]float64{0, 1}
	}
	n.camera, n.prepare = f.steady.Raw, f.preparer.add
	n.still, n.ground = &f.still, &f.still
	n.loose = f.o.Box != nil
	n.marks = f.o.marksOf(number)
	if f.lengths != nil && !n.down {
		n.body = wholeOf(a, f.lengths[number-1])
	}
	return n
}

// parallel does so for what the follower looks at while it reads.
func (f *follower) parallel(n int, work func(s *register.Scratch, i int)) {
	register.Parallel(n, f.o.Workers, f.basis, work)
}

// aside is where the vehicles are at rest, and what lies above and below: there they and their smoke will be.
func aside(patches []register.Area, l *footage.Luma) []register.Area {
	var out []register.Area
	for _, p := range patches {
		by := max(p.W, 24)
		out = append(out, register.Area{X: p.X - by, Y: 0, W: p.W + 2*by, H: l.Height})
	}
	return out
}
