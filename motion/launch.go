package motion

import "math"

// shape is the structure of a launch: how it begins and whether thrust ends in view.
type shape struct {
	begin beginning
	end   ending
}

// beginning is how a motion begins.
type beginning uint8

const (
	atOnce   beginning = iota // from rest, thrust there at once
	builtUp                   // from rest, thrust rising steadily from first motion on
	underWay                  // it moves in the first frame already
)

func (s shape) buildUp() bool  { return s.begin == builtUp }
func (s shape) underWay() bool { return s.begin == underWay }

// ending is what happens to thrust in view.
type ending uint8

const (
	lasts        ending = iota // it lasts to the last frame
	changes                    // it changes at once, to anything (water gone, air left; a stage)
	ceases                     // it ends, and the vehicle coasts against gravity and drag
	changesTwice               // it changes, and again (a launch tube left, water gone)
	lands                      // the flight ends against the ground, which may throw the vehicle back
)

// shapes lists all structures; they are averaged by their evidence.
var shapes = [...]shape{{atOnce, lasts}, {builtUp, lasts}, {underWay, lasts},
	{atOnce, changes}, {builtUp, changes}, {underWay, changes},
	{atOnce, ceases}, {builtUp, ceases}, {underWay, ceases},
	{atOnce, lands}, {builtUp, lands}, {underWay, lands},
	{atOnce, changesTwice}, {builtUp, changesTwice}, {underWay, changesTwice}}

// begins is the number of ways to begin: the first shapes, which the others follow in turn.
const begins = 3

// params are the unknowns of a launch but for first motion and the path itself.
// Times, and everything else, in the units of the series.
type params struct {
	noise  float64  // factor on the stated standard uncertainties
	walk   strength // until the end of thrust
	full   float64  // instant at which build-up is complete (buildUp)
	ramp   float64  // how long it lasts, about: from the middle of where first motion is looked for
	jolt   float64  // the head start that a jolt gives, in time; 0 for none
	end    float64  // instant at which thrust ends (unless it lasts)
	again  float64  // instant of the second change (changesTwice)
	rest   []swayed // what the frames before each index say where the vehicle sways at rest; nil where it is still
	walk2  strength // after the end of thrust (unless it lasts)
	shape  shape
	series *series

	hypothesis int         // about the correlated error, in series.drift
	drift      *driftSteps // how it goes on under that; nil: there is none
}

// Scales of what is drawn afresh at an event, relative to the mean acceleration in view, or
// to that divided by the time in view: generous, so that any launch fits.
const (
	startJerk = 3.0  // jerk at first motion (a step) or once thrust is built up
	builtJerk = 10.0 // the same once thrust is built up, over the mean acceleration, 1/s
	endJump   = 1.0  // jump of the acceleration at the end of thrust
	endJerk   = 40.0 // jerk after it, at most
	endLeft   = 5.0  // jerk after it, over the mean acceleration and the time left
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

	phase shareGains // the shared errors given level and b
}

// Thrust does not build up along a straight line: a motor's begins with a foot, as its propellant
// catches, or steeply and then bends over (the static firing of a large motor that
// TestBuildUpOfAFiring reads reaches a sixth of its peak in 0.03 s and takes 1.3 s for the rest).
// While it builds up its rate wanders by about buildUpBend of its mean: as much as all of it. Once
// built up it settles: a motor's first peak, a vehicle leaving its tube. There the jerk wanders by
// about settleJerk times the mean acceleration, per second, in settleTime, and this dies away
// within settleTime (common practice, no source: first peaks are up to 1.6 times the mean thrust
// and last 0.03 to 0.15 s; derived: even between, a fall from them is 5 times the mean acceleration
// per second, root mean square, but 20 where the highest falls fastest, further out than a normal
// density of 5 has it).
const (
	buildUpBend = 1.0
	settleJerk  = 10.0  // 1/s
	settleTime  = 30e-3 // s
)

// settling is what this adds to the strength of the walk of the jerk at time t.
func (p *params) settling(t float64) float64 {
	if !p.shape.buildUp() {
		return 0
	}
	T := settleTime / p.series.unitT
	j := settleJerk * p.series.unitT * p.series.accel
	switch {
	case t < p.full:
		bend := buildUpBend * p.series.accel / p.ramp
		return bend * bend / p.ramp
	case t-p.full > 6*T:
		return 0
	}
	return j * j / T * math.Exp((p.full-t)/T)
}

// After a change thrust does not go on along a straight line: what the last air gives dies away, what a vehicle that has left its tube gets from
// its water grows. Its jerk wanders by about changeBend times the mean acceleration over the time that is left, but by no more than a share of what it
// may be at first.
const changeBend = 1.5

// A motor does not stop at once: over its last tailTime, or tailShare of the time in view, thrust tails off, and the jerk wanders by about the mean
// acceleration over that time (common practice, no source: 0.03 to 0.2 s). A bottle's last air does so too.
const (
	tailTime  = 0.1 // s
	tailShare = 0.15
)

// bending is what this adds to the strength of the walk of the jerk at time t.
func (p *params) bending(t float64) float64 {
	s := p.series
	from, to := p.end, s.knots[len(s.knots)-1]
	switch {
	case p.shape.end == ceases:
		T := math.Min(tailTime/s.unitT, tailShare*s.span)
		if t >= p.end || t < p.end-T {
			return 0
		}
		j := s.accel / T
		return j * j / T
	case p.shape.end == lasts || p.shape.end == lands || t < p.end:
		return 0
	case p.shape.end == changesTwice && t < p.again:
		to = p.again
	case p.shape.end == changesTwice:
		from = p.again
	}
	d := math.Max(to-from, s.step)
	j := s.accel * math.Min(changeBend/d, endJerk/2/s.span)
	return j * j / d
}

// at evaluates first motion at time t in the stretch after a knot, frames before i being at rest.
func (k *track) at(t float64, knot, i int) onset {
	from := *k
	from.moves = nil
	from.backTo(t, knot)
	return from.start(i)
}

// start closes the likelihood at the track's own instant as first motion, frames before i
// being at rest at an unknown level; or at the first frame, where the vehicle is under way.
func (k *track) start(i int) onset {
	p, s := k.p, &k.s
	o := onset{t: k.t, k: i}
	var cross float64
	unit := p.thrown()
	if p.series.sway != nil {
		k.takeRest(i)
	}
	switch p.shape.begin {
	case builtUp:
		o.fullIn = p.full - k.t
	case atOnce:
		s.renew(startJerk*p.series.accel/p.series.span, k.note(jerkSet))
	case underWay:
		k.firstState()
	}
	l := s.L.times(unit)
	o.m, o.n, cross = unit.dot(l), unit.dot(s.e), l.h
	if p.series.sway == nil { // what rest says is of the level, which the jolt has left
		k.takeRest(i)
	}
	c, dets := s.c, s.dets
	P, E := s.L.hh, s.e.h
	if p.series.phased() {
		o.phase = p.shareGains(s, i, k.f, unit)
		prior := p.priorShares()
		for n := o.phase.n - 1; n >= 0; n-- {
			g := &o.phase.of[n]
			c += 0.5 * g.e * g.e / g.L
			dets *= g.L / prior[n]
			P, cross, o.m = P-g.h*g.h/g.L, cross-g.h*g.b/g.L, o.m-g.b*g.b/g.L
			E, o.n = E-g.h*g.e/g.L, o.n-g.b*g.e/g.L
		}
	}
	o.c = c + 0.5*E*E/P - 0.5*math.Log(P*dets)
	o.m -= cross * cross / P
	o.n -= cross * E / P
	o.level, o.slope, o.precision = E/P, cross/P, P
	return o
}
