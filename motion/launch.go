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

	cache [2]wandering // of the last length of step, until and after the end of thrust
}

// Scales of what is drawn afresh at an event, relative to the mean acceleration in view, or
// to that divided by the time in view: generous, so that any launch fits.
const (
	startJerk = 3.0  // jerk at first motion (a step) or once thrust is built up
	builtJerk = 10.0 // the same once thrust is built up, over the mean acceleration, 1/s
	endJump   = 2.0  // jump of the acceleration at the end of thrust
	endJerk   = 10.0 // jerk after it
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
// exp(c - m b^2/2 + n b), the rest level integrated over.
type onset struct {
	t       float64
	k       int // first frame at or after t
	c, m, n float64
	fullIn  float64 // length of the build-up; 0 for a step

	// The rest level given b is normal: mean level - slope b, precision.
	level, slope, precision float64
}

// track walks the likelihood back from the last frame, recording steps when asked.
type track struct {
	p     *params
	s     ahead
	t     float64 // where s is
	frame int     // the last frame taken in
	keep  bool
	steps []element // recorded, last first
}

// kind of element.
type kind uint8

const (
	stretch kind = iota // a time with wandering at its end
	still               // a time without
	jump                // of the acceleration
	renew               // of the jerk
	brake               // the acceleration is drawn afresh
)

// element is one recorded step of the way back.
type element struct {
	kind     kind
	from, to float64
	gain     gain
	scalar   scalarGain
}

// newTrack begins at the last frame.
func newTrack(p *params, keep bool) *track {
	s := p.series
	k := &track{p: p, t: s.t[len(s.t)-1], keep: keep}
	k.s.logs = 1
	return k
}

// observe takes in frame i.
func (k *track) observe(i int) {
	s := k.p.series
	k.s.observe(s.y[i], s.w[i]/(k.p.noise*k.p.noise))
	k.frame = i
}

// backTo goes back to time t, through the end of thrust and of the build-up where they lie
// between.
func (k *track) backTo(t float64) {
	p := k.p
	a, j := p.series.accel, p.series.accel/p.series.span
	if p.shape.end == changesTwice && p.again >= t && p.again < k.t {
		k.stretch(p.again)
		k.note(element{kind: renew, scalar: k.s.renew(endJerk * j)})
		k.note(element{kind: jump, scalar: k.s.jump(endJump * a)})
	}
	if p.shape.end != lasts && p.end >= t && p.end < k.t {
		k.stretch(p.end)
		if p.shape.end == ceases {
			jerk, accel := p.series.jerkIn(coastJerk), p.series.accelIn(1)
			k.note(element{kind: renew, scalar: k.s.renew(jerk)})
			k.note(element{kind: brake, scalar: k.s.brake(-coastBraking*accel, coastBrakingU*accel)})
		} else {
			k.note(element{kind: renew, scalar: k.s.renew(endJerk * j)})
			k.note(element{kind: jump, scalar: k.s.jump(endJump * a)})
		}
	}
	if p.shape.buildUp && p.full >= t && p.full < k.t {
		k.stretch(p.full)
		k.note(element{kind: renew, scalar: k.s.renew(math.Max(startJerk*j, builtJerk*a*p.series.unitT))})
	}
	k.stretch(t)
}

func (k *track) note(e element) {
	if !k.keep {
		return
	}
	if e.kind != stretch && e.kind != still {
		e.from, e.to = k.t, k.t
	}
	k.steps = append(k.steps, e)
}

// finest is how many pieces a sparse series is drawn in at least, so that draws wander
// between frames too.
const finest = 80

// stretch goes back to time t with no event between. Recorded stretches of sparse series
// are cut in pieces, which does not change the likelihood.
func (k *track) stretch(t float64) {
	d := k.t - t
	if d <= 0 {
		return
	}
	n := 1
	if k.keep {
		n = max(1, int(d/k.p.series.span*finest+0.5))
	}
	from := k.t
	for i := 1; i <= n; i++ {
		k.piece(from - d*float64(i)/float64(n))
	}
}

func (k *track) piece(t float64) {
	p := k.p
	d := k.t - t
	phase, w := 0, p.walk
	if p.shape.end != lasts && t >= p.end {
		phase, w = 1, p.walk2
	}
	e := element{kind: still, from: t, to: k.t}
	f := p.series.liven[k.frame]
	w = strength{w.jerk * f, w.snap*f + p.settling(t, k.t)}
	if !w.still() {
		q := &p.cache[phase]
		if math.Abs(q.d-d) > 1e-9*d || q.of != w {
			*q = w.over(d)
		}
		e.kind, e.gain = stretch, k.s.wander(q)
	}
	k.s.shift(d)
	k.t = t
	k.note(e)
}

// Thrust does not build up along a straight line, and once built up it settles: a motor's
// first peak, a vehicle leaving its tube. While it builds up the jerk wanders by about
// settleJerk times the mean acceleration, per second, in every settleTime, and this dies
// away within settleTime after (common practice, no source: first peaks are up to 1.6
// times the mean thrust and last 0.03 to 0.15 s).
const (
	settleJerk = 4.0   // 1/s
	settleTime = 50e-3 // s
)

// settling is what this adds to the strength of the walk of the jerk, on average from a to b.
func (p *params) settling(a, b float64) float64 {
	if !p.shape.buildUp {
		return 0
	}
	T := settleTime / p.series.unitT
	j := settleJerk * p.series.unitT * p.series.accel
	switch {
	case a < p.full:
		return j * j / T
	case a-p.full > 6*T:
		return 0
	}
	return j * j * (math.Exp((p.full-a)/T) - math.Exp((p.full-b)/T)) / (b - a)
}

// at evaluates first motion at time t, the track standing at frame i, already observed.
func (k *track) at(t float64, i int) onset {
	from := *k
	from.keep = false
	from.backTo(t)
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
		s.settle()
		o.m, o.n, cross = s.L.jj, s.e.j, s.L.hj
	} else {
		k.note(element{kind: renew, scalar: s.renew(startJerk * p.series.accel / p.series.span)})
		s.settle()
		o.m, o.n, cross = s.L.aa, s.e.a, s.L.ha
	}
	w, y, yy, logs := p.rest(i)
	P, E := s.L.hh+w, s.e.h+y
	o.c = s.c - 0.5*yy + 0.5*logs + 0.5*E*E/P - 0.5*math.Log(P)
	o.m -= cross * cross / P
	o.n -= cross * E / P
	o.level, o.slope, o.precision = E/P, cross/P, P
	return o
}

// rest returns the sums over the frames before i, for the noise level of p.
func (p *params) rest(i int) (w, y, yy, logs float64) {
	s := p.series
	f := 1 / (p.noise * p.noise)
	return s.sumW[i] * f, s.sumY[i] * f, s.sumYY[i] * f, s.sumLog[i] + float64(i)*math.Log(f)
}

// coefficientScales are the standard deviations of the half-normal parts of the prior of
// the launch acceleration, relative to the mean acceleration in view: nearly flat in its
// logarithm over two decades.
var coefficientScales = [...]float64{0.1, 0.4, 1.5, 6}

// logWeight integrates the coefficient out of an onset, over its prior. The return value parts[i]
// is the logarithm of the share of scale i.
func (p *params) logWeight(o *onset) (sum float64, parts [len(coefficientScales)]float64) {
	best := math.Inf(-1)
	for i, r := range coefficientScales {
		scale := p.series.accel * r
		if p.shape.buildUp {
			scale /= o.fullIn
		}
		v := o.m + 1/(scale*scale)
		z := o.n / math.Sqrt(v)
		parts[i] = 0.5*z*z + logNormalCDF(z) - math.Log(scale*math.Sqrt(v)/2)
		best = math.Max(best, parts[i])
	}
	for i := range parts {
		sum += math.Exp(parts[i] - best)
	}
	sum = o.c + best + math.Log(sum/float64(len(parts)))
	return sum, parts
}

// logNormalCDF returns the logarithm of the standard normal distribution function.
func logNormalCDF(z float64) float64 {
	if z > -8 {
		return math.Log(0.5 * math.Erfc(-z/math.Sqrt2))
	}
	// asymptotic series (Abramowitz & Stegun 26.2.12, from memory), relative error < 1e-3 here
	return -0.5*z*z - math.Log(-z*math.Sqrt(2*math.Pi)) + math.Log1p(-1/(z*z)+3/(z*z*z*z))
}
