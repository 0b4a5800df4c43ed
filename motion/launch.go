package motion

import "math"

// shape is the structure of a launch: how it begins and whether thrust ends in view.
type shape struct {
	buildUp bool // thrust rises steadily from first motion on; else it is there at once
	end     ending
}

// ending is what happens to thrust in view.
type ending uint8

const (
	lasts        ending = iota // it lasts to the last frame
	changes                    // it changes at once, to anything (water gone, air left; a stage)
	ceases                     // it ends, and the vehicle coasts against gravity and drag
	changesTwice               // it changes, and again (a launch tube left, water gone)
)

// shapes lists all structures; they are averaged by their evidence.
var shapes = [...]shape{{false, lasts}, {true, lasts}, {false, changes}, {true, changes}, {false, ceases}, {true, ceases},
	{false, changesTwice}, {true, changesTwice}}

// begins is the number of ways to begin: the first shapes, which the others follow in turn.
const begins = 2

// params are the unknowns of a launch but for first motion and the path itself.
// Times, and everything else, in the units of the series.
type params struct {
	noise  float64  // factor on the stated standard uncertainties
	walk   strength // until the end of thrust
	full   float64  // instant at which build-up is complete (buildUp)
	end    float64  // instant at which thrust ends (unless it lasts)
	again  float64  // instant of the second change (changesTwice)
	walk2  strength // after the end of thrust (unless it lasts)
	shape  shape
	series *series
}

// Scales of what is drawn afresh at an event, relative to the mean acceleration in view, or
// to that divided by the time in view: generous, so that any launch fits.
const (
	startJerk = 3.0  // jerk at first motion (a step) or once thrust is built up
	builtJerk = 10.0 // the same once thrust is built up, over the mean acceleration, 1/s
	endJump   = 2.0  // jump of the acceleration at the end of thrust
	endJerk   = 40.0 // jerk after it
)

// What gravity and drag do to a coasting vehicle: from 10 m/s2 of gravity alone to several
// times that for a light bottle at 40 m/s (derived: a terminal speed of 18 m/s gives 58 m/s2).
const (
	coastBraking  = 20.0  // m/s2, mean
	coastBrakingU = 20.0  // m/s2, standard deviation
	coastJerk     = 100.0 // m/s3, standard deviation
)

// accelIn and jerkIn turn m/s2 and m/s3 into the units of the series.
func (s *series) accelIn(a float64) float64 { return a * s.unitT * s.unitT / s.unitH }
func (s *series) jerkIn(j float64) float64  { return s.accelIn(j) * s.unitT }

// onset is the likelihood of one candidate instant of first motion, as a function of the
// launch coefficient b >= 0 (initial acceleration, or jerk of the build-up):
// exp(c - m b^2/2 + n b), the rest level integrated over, but for the same constant as ahead's.
type onset struct {
	t       float64
	k       int // first frame at or after t
	c, m, n float64
	fullIn  float64 // length of the build-up; 0 for a step

	// The rest level given b is normal: mean level - slope b, precision.
	level, slope, precision float64
}

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
	return track{p: p, t: s.knots[len(s.knots)-1], s: ahead{dets: 1}, f: 1 / (p.noise * p.noise), moves: moves}
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
			k.s.observeOne(s.y[i], k.f*s.w[i])
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

// note records a random move.
func (k *track) note(kind kind, g gain) {
	if k.moves != nil {
		*k.moves = append(*k.moves, move{kind: kind, sd: math.Sqrt(g.C), gain: g})
	}
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
			k.s.observeOne(s.y[b.from], k.f*s.w[b.from])
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
	j := k.s.kickJerk(w.snap*f + p.settling(k.t)*d)
	a := k.s.kickAccel(w.jerk * f)
	k.note(jerkStep, j)
	k.note(accelStep, a)
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
	case p.shape.buildUp && p.full >= t && p.full < k.t:
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
	switch {
	case e == built:
		k.note(jerkSet, k.s.renew(math.Max(startJerk*j, builtJerk*a*s.unitT)))
	case e == ended && k.p.shape.end == ceases:
		k.note(jerkSet, k.s.renew(s.jerkIn(coastJerk)))
		k.note(accelSet, k.s.brake(-coastBraking*s.accelIn(1), coastBrakingU*s.accelIn(1)))
	default:
		k.note(jerkSet, k.s.renew(endJerk*j))
		k.note(accelStep, k.s.kickAccel(endJump*endJump*a*a))
	}
}

// Thrust does not build up along a straight line, and once built up it settles: a motor's
// first peak, a vehicle leaving its tube. While it builds up the jerk wanders by about
// settleJerk times the mean acceleration, per second, in every settleTime, and this dies
// away within settleTime after (common practice, no source: first peaks are up to 1.6
// times the mean thrust and last 0.03 to 0.15 s).
const (
	settleJerk = 6.0   // 1/s
	settleTime = 50e-3 // s
)

// settling is what this adds to the strength of the walk of the jerk at time t.
func (p *params) settling(t float64) float64 {
	if !p.shape.buildUp {
		return 0
	}
	T := settleTime / p.series.unitT
	j := settleJerk * p.series.unitT * p.series.accel
	switch {
	case t < p.full:
		return j * j / T
	case t-p.full > 6*T:
		return 0
	}
	return j * j / T * math.Exp((p.full-t)/T)
}

// at evaluates first motion at time t in the stretch after a knot, frames before i being at rest.
func (k *track) at(t float64, knot, i int) onset {
	from := *k
	from.moves = nil
	from.backTo(t, knot)
	return from.start(i)
}

// start closes the likelihood at the track's own instant as first motion, frames before i
// being at rest at an unknown level.
func (k *track) start(i int) onset {
	p, s := k.p, &k.s
	o := onset{t: k.t, k: i}
	var cross float64
	if p.shape.buildUp {
		o.fullIn = p.full - k.t
		o.m, o.n, cross = s.L.jj, s.e.j, s.L.hj
	} else {
		k.note(jerkSet, s.renew(startJerk*p.series.accel/p.series.span))
		o.m, o.n, cross = s.L.aa, s.e.a, s.L.ha
	}
	w, y := p.series.sumW[i]*k.f, p.series.sumY[i]*k.f
	P, E := s.L.hh+w, s.e.h+y
	o.c = s.c + 0.5*E*E/P - 0.5*math.Log(P*s.dets)
	o.m -= cross * cross / P
	o.n -= cross * E / P
	o.level, o.slope, o.precision = E/P, cross/P, P
	return o
}

// The prior of the acceleration at first motion (of a step), or once thrust is built up, relative
// to the mean in view: a sum of normal densities at these means, cut at zero, that is nearly flat in the
// logarithm over two decades and vanishes below.
var coefficientMeans = [...]float64{0.1, 0.25, 0.63, 1.6, 4}

// coefficientSpread is the standard deviation of each part relative to its mean.
const coefficientSpread = 0.45

// logWeight integrates the coefficient out of an onset, over its prior. shares[i] is the share of
// part i.
func (p *params) logWeight(o *onset) (l float64, shares [len(coefficientMeans)]float64) {
	unit := p.series.accel
	if p.shape.buildUp {
		unit /= o.fullIn
	}
	// the integral over part i is shares[i] exp(half[i]) Phi(z[i])
	var z, half [len(coefficientMeans)]float64
	most := math.Inf(-1)
	for i, r := range coefficientMeans {
		mean := unit * r
		w := 1 / (coefficientSpread * coefficientSpread * mean * mean)
		root := math.Sqrt(o.m + w)
		z[i] = (o.n + w*mean) / root
		half[i] = 0.5*z[i]*z[i] - 0.5*w*mean*mean
		shares[i] = math.Sqrt(w) / root
		if z[i] > -8 {
			most = math.Max(most, half[i])
		} else {
			most = math.Max(most, -0.5*w*mean*mean)
		}
	}
	sum := 0.0
	for i, x := range z {
		switch {
		case x > 6: // Phi is one to nine digits
			shares[i] *= math.Exp(half[i] - most)
		case x > -8:
			shares[i] *= math.Exp(half[i]-most) * 0.5 * math.Erfc(-x/math.Sqrt2)
		default:
			shares[i] *= math.Exp(half[i]-0.5*x*x-most) * tail(-x)
		}
		sum += shares[i]
	}
	for i := range shares {
		shares[i] /= sum
	}
	return o.c + most + math.Log(sum/float64(len(z))), shares
}

// tail returns exp(x^2/2) Phi(-x) for large x: the asymptotic series (Abramowitz & Stegun
// 26.2.12, from memory), relative error below 1e-4 from x = 8 on.
func tail(x float64) float64 {
	q := 1 / (x * x)
	return (1 - q*(1-3*q)) / (x * math.Sqrt(2*math.Pi))
}
