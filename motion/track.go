package motion

// track walks the likelihood back from the last frame, recording the way when asked.
type track struct {
	p     *params
	s     ahead
	t     float64 // where s is
	f     float64 // factor on the frames' precisions
	moves *[]move // where the way is recorded, last first; nil to record nothing
}

// newTrack begins at the last frame.
func newTrack(p *params, moves *[]move) track {
	s := p.series
	return track{p: p, t: s.knots[len(s.knots)-1], s: ahead{dets: 1, phase: mixed{n: p.countShares()}}, f: 1 / (p.noise * p.noise), moves: moves}
}

// backTo goes back to time t within the stretch from knot k to the next, through events that
// lie between, taking in single frames of the stretch that lie in [t, where it stands).
// Frames at the knot itself are left to knot.
func (k *track) backTo(t float64, knot int) {
	for {
		e := k.lastEvent(t)
		at := t
		if e != nothing {
			at = k.p.eventTime(e)
		}
		k.frames(at, knot)
		k.shift(at)
		if e == nothing {
			return
		}
		k.event(e)
	}
}

// frames takes in the frames of a knot's block in [t, where the track stands), but for one at the knot.
func (k *track) frames(t float64, knot int) {
	s := k.p.series
	b := &s.blocks[knot]
	if b.lone {
		return
	}
	for i := b.to - 1; i >= b.from && s.t[i] >= t; i-- {
		if s.t[i] < k.t && s.t[i] > s.knots[knot] {
			k.shift(s.t[i])
			k.s.observeOne(s, i, k.f)
		}
	}
}

func (k *track) shift(t float64) {
	d := k.t - t
	if d <= 0 {
		return
	}
	k.s.shift(d)
	k.t = t
	if k.moves != nil {
		if n := len(*k.moves); n > 0 && (*k.moves)[n-1].kind == coast {
			(*k.moves)[n-1].d += d
			return
		}
		*k.moves = append(*k.moves, move{kind: coast, d: d})
	}
}

// note makes room for the record of a random move and returns where its gain goes; nil where nothing is recorded.
func (k *track) note(kind kind) *gain {
	if k.moves == nil {
		return nil
	}
	*k.moves = append(*k.moves, move{kind: kind})
	return &(*k.moves)[len(*k.moves)-1].gain
}

// toKnot goes back from the next knot to knot i, and through its step; from the last frame it
// goes to the last knot.
func (k *track) toKnot(i int) {
	s := k.p.series
	t, b := s.knots[i], &s.blocks[i]
	if k.lastEvent(t) == nothing {
		k.shift(t)
		k.s.observe(b, k.f)
	} else {
		k.backTo(t, i)
		if b.from < b.to && s.t[b.from] == t {
			k.s.observeOne(s, b.from, k.f)
		}
	}
	if i < len(s.knots)-1 {
		k.kick(i)
	}
}

// kick takes the step at knot i.
func (k *track) kick(i int) {
	p, s := k.p, k.p.series
	d := s.knots[i+1] - s.knots[i]
	w := p.walk
	if p.shape.end != lasts && k.t >= p.end {
		w = p.walk2
	}
	f := s.liven[i] * d
	k.s.kickJerk(w.snap*f+(p.settling(k.t)+p.bending(k.t))*d, k.note(jerkStep))
	k.s.kickAccel(w.jerk*f, k.note(accelStep))
	if g := s.growth[i]; g != 1 {
		k.s.grow(g)
		if k.moves != nil {
			*k.moves = append(*k.moves, move{kind: jerkGrow, d: g})
		}
	}
	if p.drift != nil {
		k.driftOn(&p.drift.to[i])
	}
}

// event is something that happens to thrust.
type event uint8

const (
	nothing event = iota
	built         // build-up is complete
	ended         // thrust ends or changes
	again         // it changes again
)

// lastEvent returns the last event at or after t and before where the track stands.
func (k *track) lastEvent(t float64) event {
	p := k.p
	switch {
	case p.shape.end == changesTwice && p.again >= t && p.again < k.t:
		return again
	case p.shape.end != lasts && p.end >= t && p.end < k.t:
		return ended
	case p.shape.buildUp() && p.full >= t && p.full < k.t:
		return built
	}
	return nothing
}

func (p *params) eventTime(e event) float64 {
	switch e {
	case again:
		return p.again
	case ended:
		return p.end
	}
	return p.full
}

// event takes the likelihood back over an event.
func (k *track) event(e event) {
	s := k.p.series
	a, j := s.accel, s.accel/s.span
	left := s.knots[len(s.knots)-1] - k.t
	switch {
	case e == ended && k.p.shape.end == lands:
		k.landed()
	case e == built:
		k.s.renew(max(startJerk*j, builtJerk*a*s.unitT), k.note(jerkSet))
	case e == ended && k.p.shape.end == ceases:
		k.s.renew(s.jerkIn(coastJerk), k.note(jerkSet))
		k.s.brake(-coastBraking*s.accelIn(1), coastBrakingU*s.accelIn(1), k.note(accelSet))
	default:
		k.s.renew(min(endJerk*j, endLeft*a/left), k.note(jerkSet))
		k.s.kickAccel(endJump*endJump*a*a, k.note(accelStep))
	}
}
