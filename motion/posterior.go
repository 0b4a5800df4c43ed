package motion

import (
	"math"
)

// grid is where first motion is looked for: n cells of width d from time lo on, in the
// units of the series. The likelihood is taken at the middle of each cell.
type grid struct {
	lo, d float64
	n     int
}

func (g grid) hi() float64          { return g.lo + float64(g.n)*g.d }
func (g grid) middle(i int) float64 { return g.lo + (float64(i)+0.5)*g.d }

// Priors that are not relative to the footage.
const (
	// The stated uncertainty of a trace is right within about a factor of 1.6 (1 sd).
	noiseSpread = 0.5
	// Thrust that builds up does so in 5 to 60 ms (small motors; common practice, no source): the
	// logarithm is uniform between, with the tails of a normal of this spread beyond.
	buildUpLeast = 5e-3  // s
	buildUpMost  = 60e-3 // s
	buildUpEdge  = 0.25
	// The acceleration is taken to wander by about 0.25 of itself over the view, within a
	// factor of 3 either way (1 sd); where thrust builds up by 0.1, for a motor is made to
	// burn evenly (common practice, no source).
	wander        = 0.25
	wanderBuildUp = 0.1
	wanderSpread  = 2.2 // of ln(walk), which goes with wander squared
	// The walk of the acceleration itself may be anything from nothing to most of it.
	unevenSpread = 3.0
	// After rest that sways it must not sway itself: else the launch takes the last sways for thrust.
	swayUnevenSpread  = 1.0
	unevenness        = 0.3
	unevennessBuildUp = 0.1
	// After thrust it is within a factor of e^2 of what it was before (1 sd).
	coastSpread = 2.0
	// A coasting vehicle wanders less, by e^-4.
	coastCalm = -4.0
	// Thrust that builds up is a motor's, which does not jump on the way but where a stage follows, and mostly outlasts the view: ln of the
	// odds of a jump, and of an end, against neither (common practice, no source). What is let go at once may do all of these alike.
	// With all its endings a step is 3.4 times as probable as a build-up (derived) before kind.go weighs the two.
	jumpOdds  = -3.0
	ceaseOdds = -2.0
	// Priors are cut at so many standard deviations.
	priorReach = 4.0
)

// problem is the posterior of one structure of launch.
type problem struct {
	s     *series
	shape shape
	grid  grid
	jolt  bool // a step may begin with a jolt; see jolt.go

	hypothesis int       // about the correlated error, under which modes are looked for
	odds       []float64 // with which points of the posterior are put under each; nil: there is none
}

// Coordinates of the posterior: logarithms of the scale parameters, times as they are.
const (
	cNoise = iota
	cJerk  // ln of the walk of acceleration
	cSnap  // ln of the walk of jerk
	cFull  // only with a build-up, or cJolt; shifts those after it
	cJolt  = cFull
)

// dim returns the number of coordinates.
func (p *problem) dim() int {
	d := cFull
	if p.shape.buildUp() || p.jolt {
		d++
	}
	if p.shape.end != lasts {
		d += 2
	}
	if p.shape.end == changesTwice {
		d++
	}
	return d
}

// endAt is the coordinate of the end of thrust; the one after it is the logarithm of
// how much stronger the walk is after it; then comes the second change.
func (p *problem) endAt() int {
	if p.shape.buildUp() || p.jolt {
		return cFull + 1
	}
	return cFull
}

// params turns coordinates into parameters.
func (p *problem) params(u []float64) *params { return p.under(u, p.hypothesis) }

// under does so under a hypothesis about the correlated error.
func (p *problem) under(u []float64, hypothesis int) *params {
	q := &params{noise: math.Exp(u[cNoise]), walk: strength{math.Exp(u[cJerk]), math.Exp(u[cSnap])}, shape: p.shape, series: p.s}
	if p.shape.buildUp() {
		q.full = u[cFull]
		q.ramp = math.Max(q.full-0.5*(p.grid.lo+p.grid.hi()), 0.5*p.s.step)
	}
	if p.jolt {
		q.jolt = p.joltOf(u[cJolt])
	}
	if p.shape.end != lasts {
		e := p.endAt()
		f := math.Exp(u[e+1])
		q.end, q.walk2 = u[e], strength{q.walk.jerk * f, q.walk.snap * f}
	}
	if p.shape.end == changesTwice {
		q.again = u[p.endAt()+2]
	}
	if p.s.drift != nil {
		q.hypothesis, q.drift = hypothesis, p.s.drift.under(hypothesis)
	}
	if p.s.sway != nil {
		q.rest = p.s.sway.filter(p.s, 1/(q.noise*q.noise))
	}
	return q
}

// walkScale returns the walk strengths at which the acceleration wanders by f of itself over
// the view, by each of the two ways.
func (s *series) walkScale(f float64) strength {
	a := f * s.accel
	return strength{a * a / s.span, 3 * a * a / (s.span * s.span * s.span)}
}

// walkExpected is where the prior of the walk lies.
func (p *problem) walkExpected() strength {
	share, uneven := wander, unevenness
	if p.shape.buildUp() {
		share, uneven = wanderBuildUp, unevennessBuildUp
	}
	w := p.s.walkScale(share)
	return strength{w.jerk * uneven, w.snap}
}

// unevenSpread is the standard deviation of the logarithm of the walk of the acceleration.
func (s *series) unevenSpread() float64 {
	if s.sway != nil {
		return swayUnevenSpread
	}
	return unevenSpread
}

// calm is the expected logarithm of how much stronger the walk is after the end of thrust.
func (s shape) calm() float64 {
	if s.end == ceases || s.end == lands {
		return coastCalm
	}
	return 0
}

// logOdds is ln of the odds of what happens to thrust in view, against its lasting.
func (s shape) logOdds() float64 {
	if s.end == lands {
		return landedOdds
	}
	if !s.buildUp() {
		return 0
	}
	switch s.end {
	case changes:
		return jumpOdds
	case changesTwice:
		return 2 * jumpOdds
	case ceases:
		return ceaseOdds
	}
	return 0
}

// logPrior is the prior of the coordinates but for those tied to first motion.
func (p *problem) logPrior(u []float64) float64 {
	sq := func(x, sd float64) float64 { x /= sd; return -0.5*x*x - math.Log(sd) - 0.5*math.Log(2*math.Pi) }
	w := p.walkExpected()
	l := sq(u[cNoise], noiseSpread)
	l += sq(u[cJerk]-math.Log(w.jerk), p.s.unevenSpread())
	l += sq(u[cSnap]-math.Log(w.snap), wanderSpread)
	l += p.s.logShare(p.shape.begin) + p.shape.logOdds() + p.logJolt(u)
	if p.shape.end != lasts {
		l += sq(u[p.endAt()+1]-p.shape.calm(), coastSpread)
	}
	return l
}

// logOnsetPrior is the prior of first motion t and of what is tied to it.
func (p *problem) logOnsetPrior(q *params, t float64) float64 {
	last := p.s.t[len(p.s.t)-1]
	d, l := 1/(last-p.s.t[0]), 0.0 // the density is d exp(l)
	if p.shape.underWay() {
		d = 1
	}
	if p.shape.end != lasts {
		if !(q.end > t) {
			return math.Inf(-1)
		}
		view := last - t
		d *= 2 * (q.end - t) / (view * view)
		if p.shape.end == changesTwice {
			d *= 4 * (q.again - t) / (view * view)
		}
	}
	if p.shape.buildUp() {
		full := q.full - t
		if full <= 0 {
			return math.Inf(-1)
		}
		x := 0.0
		switch rise := full * p.s.unitT; {
		case rise < buildUpLeast:
			x = math.Log(buildUpLeast/rise) / buildUpEdge
		case rise > buildUpMost:
			x = math.Log(rise/buildUpMost) / buildUpEdge
		}
		l = -0.5 * x * x
		d /= full * buildUpNorm
	}
	return l + math.Log(d)
}

// buildUpNorm is the integral of the prior of the logarithm of a build-up's length, its top being one.
var buildUpNorm = math.Log(buildUpMost/buildUpLeast) + buildUpEdge*math.Sqrt(2*math.Pi)

// valid says whether the coordinates make sense at all.
func (p *problem) valid(q *params, u []float64) bool {
	s := p.s
	last := s.t[len(s.t)-1]
	if p.shape.buildUp() && !(q.full > p.grid.lo && q.full < last) {
		return false
	}
	if p.shape.end != lasts && !(q.end > p.grid.lo && q.end < last) {
		return false
	}
	if p.shape.end != lasts && p.shape.buildUp() && q.full >= q.end {
		return false
	}
	if p.shape.end == changesTwice && !(q.again > q.end && q.again < last) {
		return false
	}
	if p.jolt && p.logJolt(u) < -0.5*priorReach*priorReach-math.Log(joltNorm) {
		return false
	}
	w := p.walkExpected()
	near := func(x, middle, sd float64) bool { return math.Abs(x-middle) < priorReach*sd }
	return near(u[cNoise], 0, noiseSpread) && near(u[cJerk], math.Log(w.jerk), p.s.unevenSpread()) &&
		near(u[cSnap], math.Log(w.snap), wanderSpread) && (p.shape.end == lasts || near(u[p.endAt()+1], p.shape.calm(), coastSpread))
}

// noiseLevel is the part of the log-likelihood of all frames that depends on the factor f on
// their precisions alone.
func (s *series) noiseLevel(f float64) float64 {
	n := len(s.t)
	return -0.5*f*s.sumYY + 0.5*s.sumLog + 0.5*float64(n)*math.Log(f)
}
