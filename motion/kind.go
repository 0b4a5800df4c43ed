package motion

import (
	"math"
	"sort"
)

// Kind is what flies, as far as its user says. It decides whether thrust is there at once at first
// motion or builds up, which frames at low rates cannot tell.
type Kind string

const (
	AnyKind Kind = ""       // judged by how hard it pulls and how that changes
	Bottle  Kind = "bottle" // let go under pressure: all thrust at once
	Motor   Kind = "motor"  // thrust builds up
	Dropped Kind = "drop"   // let go: all of gravity at once
)

// kind is what flies: what is asked tells it too.
func (in *Input) kind() Kind {
	if in.Kind == AnyKind && in.Questions.DropCheck {
		return Dropped
	}
	return in.Kind
}

// Odds that a stated kind begins as it should: what is let go under pressure has all its thrust at once and a motor builds it up, always; a hand
// that lets go may take its time.
const (
	statedOdds  = 1e6
	droppedOdds = 50
)

// look is what the plainest fit shows of the kind.
type look struct {
	peak  float64 // m/s2, the acceleration that a tenth of the flight exceeds
	rise  float64 // ln of the speed gained in the last third of the time to the highest speed, over that in the second
	known bool    // rise is: there are frames enough
}

// What is known of both kinds (common practice, no source). ln of the peak acceleration is normal: middle and standard deviation. A
// pressurised vehicle loses most of its mass while it is pushed, so that its acceleration grows manifold, until its water is gone and it falls as
// fast: rise is anything, seldom about zero. The acceleration of a motor rocket changes little, but for some whose thrust was made to
// grow or to fall.
const (
	bottlePeak, bottlePeakSpread = 450.0, 0.8 // m/s2
	motorPeak, motorPeakSpread   = 110.0, 0.6

	bottleGrows, bottleFalls     = 0.4, 0.2 // density of the rise of a bottle, above and below zero
	steadyRise, steadyRiseSpread = -0.02, 0.06
	steady                       = 0.7       // share of motors whose thrust is; density of the rise of the others:
	motorGrows, motorFalls       = 0.05, 0.2 // above and below zero
)

// unstatedMost is how much, in the logarithm, what a fit shows may say for either kind: 20 to 1. The
// two features are not independent: a bottle that pulls as weakly as a motor loses its mass as slowly,
// and tails of normal densities are no knowledge. Where the odds are let be e^-6, 6 of 16 weak bottles
// begin up to a frame too early and sure of it (TestWeakBottleOfUnstatedKind); so, none does, and
// intervals of bottles and motors that are no such keep their widths.
const unstatedMost = 3.0

// riseFrames is how many moving frames show how the acceleration changes.
const riseFrames = 12

// look reads the plainest fit.
func (g guess) look() look {
	s := g.p.s
	mean := meanPath(g.p, g.bump.u)
	if mean == nil {
		return look{peak: s.accel / s.accelIn(1)}
	}
	s.enliven(mean)
	a := make([]float64, len(mean.knots))
	for i, k := range mean.knots {
		a[i] = k.x.a
	}
	sort.Float64s(a)
	l := look{peak: math.Max(s.accel/s.accelIn(1), quantile(a, 0.9))}
	if len(s.t)-s.move < riseFrames {
		return l
	}
	end := mean.peaks(0).speed
	v := func(thirds float64) float64 { return mean.at(mean.t0 + thirds/3*(end-mean.t0)).v }
	second, last := v(2)-v(1), v(3)-v(2)
	if second > 0 && last > 0 {
		l.rise, l.known = math.Log(last/second), true
	}
	return l
}

// stepOdds returns ln of the odds that thrust is there at once.
func (k Kind) stepOdds(l look) float64 {
	switch k {
	case Bottle:
		return math.Log(statedOdds)
	case Dropped:
		return math.Log(droppedOdds)
	case Motor:
		return -math.Log(statedOdds)
	}
	normal := func(x, middle, sd float64) float64 { x = (x - middle) / sd; return math.Exp(-0.5*x*x) / sd }
	a := math.Log(l.peak)
	odds := normal(a, math.Log(bottlePeak), bottlePeakSpread) / normal(a, math.Log(motorPeak), motorPeakSpread)
	if l.known {
		bottle, motor := bottleGrows, motorGrows
		if l.rise < 0 {
			bottle, motor = bottleFalls, motorFalls
		}
		odds *= bottle / (steady*normal(l.rise, steadyRise, steadyRiseSpread)/math.Sqrt(2*math.Pi) + motor)
	}
	return math.Max(-unstatedMost, math.Min(unstatedMost, math.Log(odds)))
}

// logShare is ln of the prior odds of a beginning: thrust builds up, is there at once, or the vehicle is under way.
func (s *series) logShare(b beginning) float64 {
	switch b {
	case underWay:
		return underWayOdds
	case builtUp:
		return -math.Log1p(math.Exp(s.atOnce))
	}
	return -math.Log1p(math.Exp(-s.atOnce))
}
