package desk

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"

	"padside/camera"
	"padside/fault"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/study"
	"padside/trace"
)

// runner is one vehicle that takes part.
type runner struct {
	line   ComparedLaunch
	entry  study.Launch // what places are decided by: first motion and the finish
	launch *logbook.Launch
	seen   *trace.Result
	path   *trace.Path
	scale  *camera.Scale
	motion []motion.State
	size   [2]int // px, of its footage

	zero  metrology.Answer // first motion
	first int              // its first frame used
	times []float64        // s after first motion at which each frame from first on is centred, where the vehicle is
	gone  float64          // s after first motion: it is not seen any more; the end of the footage, or it left the view
	left  bool             // it left the view

	time  metrology.Answer // to the finish
	award string           // "1st", or empty
	over  float64          // s after first motion: its panel stands still from here on
}

// choose takes the height raced to: the one asked for; else the highest gate that all were asked for and that all reach; else a
// round height below the least that is in view.
func (r *contest) choose() error {
	goal, err := r.o.finish()
	if err != nil {
		return err
	}
	r.gates = commonGates(r.starts)
	r.goal, r.goalAs = goal, r.o.Finish
	if goal > 0 {
		return nil
	}
	view := math.Inf(1)
	for _, h := range r.starts {
		for _, p := range h.from.seen.Paths {
			if h.lane > 0 && p.Lane != h.lane {
				continue
			}
			seen := seenLane(h.launch, p, h.from)
			scale, reach, _, err := seen.scaled(h.launch, h.from.info)
			if err != nil {
				return err
			}
			view = min(view, scale.Height(reach))
		}
	}
	for _, g := range slices.Backward(r.gates) {
		if g < view {
			r.goal = g
			return nil
		}
	}
	if !(view > 0) {
		return fault.NoAnswerf("choose the height with --finish", "no launch rises in view: there is nothing to race to")
	}
	r.goal = roundBelow(0.9 * view)
	return nil
}

// commonGates are the heights that every launch was asked for, rising.
func commonGates(starts []raceStart) []float64 {
	var out []float64
	for _, g := range starts[0].launch.Questions.Gates {
		all := true
		for _, h := range starts[1:] {
			all = all && slices.ContainsFunc(h.launch.Questions.Gates, func(x float64) bool { return sameHeight(x, g) })
		}
		if all {
			out = append(out, g)
		}
	}
	return out
}

// sameHeight compares heights to what printing in another unit may change.
func sameHeight(a, b float64) bool { return math.Abs(a-b) <= 1e-9*(math.Abs(a)+math.Abs(b)) }

// roundBelow is the greatest of 1, 1.5, 2, 3, 5, 8 times a power of ten that is not above v.
func roundBelow(v float64) float64 {
	ten := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{8, 5, 3, 2, 1.5} {
		if k*ten <= v {
			return k * ten
		}
	}
	return ten
}

// answer asks every launch for its first motion and when it passes the finish.
func (r *contest) answer(ctx context.Context) error {
	for _, h := range r.starts {
		l := *h.launch
		l.Questions.Gates = []float64{r.goal}
		m, err := h.from.answer(ctx, &l, r.o.Options)
		if err != nil {
			return err
		}
		for k := range m.Lanes {
			if h.lane > 0 && m.Lanes[k].Path.Lane != h.lane {
				continue
			}
			one, err := newRunner(m, k, h)
			if err != nil {
				return err
			}
			r.runners = append(r.runners, *one)
		}
	}
	return nil
}

// newRunner takes over what a race needs of lane k of a measurement.
func newRunner(m *Measurement, k int, h raceStart) (*runner, error) {
	lane := &m.Lanes[k]
	l := m.Launch
	r := runnerOf(m, k, h.from)
	r.line = ComparedLaunch{Title: titleFor(m, k), Setup: l.Setup, Path: l.Path}
	if h.name != "" && (len(m.Lanes) == 1 || h.lane > 0) {
		r.line.Title = h.name
	}
	r.entry = study.Launch{Title: r.line.Title, Setup: l.Setup, Warnings: m.Sheet.Warnings}
	if len(m.Lanes) > 1 {
		r.line.Lane = lane.Path.Lane
		if r.entry.Setup == "" {
			r.entry.Setup = l.Path // one camera saw both
		}
	}
	for i, a := range lane.Motion.Answers {
		if a.ID != motion.FirstMotion && a.ID != motion.GateCrossing {
			continue
		}
		r.entry.Answers, r.entry.Draws = append(r.entry.Answers, a), append(r.entry.Draws, lane.Motion.Draws[i])
		if a.ID == motion.FirstMotion {
			r.zero = a
		}
	}
	if r.zero.Value == nil {
		return nil, fault.NoAnswerf("leave it out, or look at its trace", "%s (%s) cannot be aligned with the others, as its first motion was not measured: %s", r.line.Title, l.Path, r.zero.Reason)
	}
	r.clock(m)
	return r, nil
}

// runnerOf is a vehicle whose first motion and clock are still to be set.
func runnerOf(m *Measurement, k int, f *followed) *runner {
	lane := &m.Lanes[k]
	return &runner{launch: m.Launch, seen: f.seen, path: &lane.Path, scale: lane.Scale, motion: lane.Motion.History, size: [2]int{f.info.Width, f.info.Height}}
}

// clock finds when each frame's picture is centred, at the place where the vehicle is seen.
func (r *runner) clock(m *Measurement) {
	r.first = m.Launch.Footage.From
	last := m.Sheet.Footage.Frames - 1
	if m.Launch.Footage.To >= 0 {
		last = min(last, m.Launch.Footage.To)
	}
	at, k := r.path.Line.Rest, 0
	points := r.path.Points
	for i := r.first; i <= last; i++ {
		for k < len(points) && points[k].Frame <= i {
			at = camera.Pixel{X: points[k].Col, Y: points[k].Row}
			k++
		}
		r.times = append(r.times, m.base.TimeAt(i, at.X, at.Y)-*r.zero.Value)
	}
	r.gone = r.times[len(r.times)-1]
	if n := len(points); n > 0 && points[n-1].Frame < last && r.path.LeftView {
		r.left, r.gone = true, r.times[max(0, points[n-1].Frame-r.first)]
	}
}

// step is the mean time between its frames, s.
func (r *runner) step() float64 {
	if n := len(r.times) - 1; n > 0 {
		return (r.times[n] - r.times[0]) / float64(n)
	}
	return 0
}

// frameAt is the frame (from 0, of those used) to show at an instant: the one whose picture is centred nearest to it, or, with held,
// the latest that is centred not after it.
func (r *runner) frameAt(t float64, held bool) int {
	i := sort.SearchFloat64s(r.times, t) // the first not before t
	switch {
	case i == len(r.times):
		return i - 1
	case i == 0 || r.times[i] == t:
		return i
	case held || t-r.times[i-1] <= r.times[i]-t:
		return i - 1
	}
	return i
}

// state is the vehicle's motion at an instant after first motion: between two frames, in a straight line; at rest before it.
func (r *runner) state(t float64) motion.State {
	at := t + *r.zero.Value
	n := len(r.motion)
	i := sort.Search(n, func(k int) bool { return r.motion[k].T >= at })
	switch {
	case t <= 0 || n == 0:
		return motion.State{T: at}
	case i == n:
		return r.motion[n-1]
	}
	b := r.motion[i]
	a := motion.State{T: *r.zero.Value}
	if i > 0 && r.motion[i-1].T > a.T {
		a = r.motion[i-1]
	}
	if b.T <= a.T {
		return b
	}
	k := (at - a.T) / (b.T - a.T)
	mix := func(x, y float64) float64 { return x + k*(y-x) }
	return motion.State{T: at, Height: mix(a.Height, b.Height), Speed: mix(a.Speed, b.Speed), Acceleration: mix(a.Acceleration, b.Acceleration),
		UHeight: mix(a.UHeight, b.UHeight), USpeed: mix(a.USpeed, b.USpeed), UAcceleration: mix(a.UAcceleration, b.UAcceleration)}
}

// awarded gives every launch its time and its place.
func (r *contest) awarded() {
	for i := range r.runners {
		one := &r.runners[i]
		one.time = r.sheet.Times[i]
		one.over = one.times[len(one.times)-1]
		if one.time.Value != nil {
			one.over = *one.time.Value
		}
	}
	number := 1
	for _, p := range r.sheet.Order {
		for _, k := range p {
			r.runners[k-1].award = ordinal(number)
			if len(p) > 1 {
				r.runners[k-1].award += " ="
			}
		}
		number += len(p)
	}
}

// ordinal writes a place: "1st", "2nd".
func ordinal(n int) string {
	end := "th"
	switch {
	case n%100 >= 11 && n%100 <= 13:
	case n%10 == 1:
		end = "st"
	case n%10 == 2:
		end = "nd"
	case n%10 == 3:
		end = "rd"
	}
	return fmt.Sprint(n) + end
}
