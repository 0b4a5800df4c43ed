package camera

import (
	"fmt"
	"math"

	"padside/fault"
)

// What the trace saw of the vehicle's apparent size tells the perspective c along the flight line,
// whatever causes it: tilt, lens or lean. With h = a s/(1 + c s), what lies across the line is seen
// 1 + c s as large as at rest, what lies along it (1 + c s)^2; a matched patch of both grows by
// a power between. See ruler.go for what is known to lie along it.
const (
	leastPower, mostPower = 1.0, 2.0 // rectangular between
	// sizeDoubt is the standard uncertainty that every matched size shares, relative: edges against another
	// background mimic another size (the trace's own allowance).
	sizeDoubt = 0.02
	// sizeReach is the share of the way at which a straight line through 1 at rest, fitted to a curve of
	// sizes, meets the curve: 3/4 for a weak curvature and evenly spread points.
	sizeReach = 0.75
	// sizeLimit is how many standard uncertainties geometry and size may lie apart.
	sizeLimit = 3
	// levelAbandoned is how level a camera of unknown tilt is taken to be, rad, where the apparent size
	// tells more than levelU does: it only keeps out the absurd.
	levelAbandoned = 20 * math.Pi / 180
)

// sized joins the apparent size to what else is known: for each draw of errors x0 it finds the one
// x that fits the size drawn with it, x = x0 + K (c_size - c(x)), K the gain of a linear estimate.
// Such draws are draws from the posterior (exactly so where c is linear in the errors).
type sized struct {
	rate, u       float64  // relative change of size per px of the flight line, and its uncertainty
	power, powerU float64  // of 1 + c s by which it grows, and half the width of its rectangular allowance
	reach         float64  // px
	estimate      estimate // at the best factor on the marks' uncertainty
	others        []estimate
	used, ruler   bool
}

// estimate is the linear one under one factor on the marks' stated uncertainty: the more they scatter, the more of what is missing
// is theirs.
type estimate struct {
	spread float64   // the factor
	slope  []float64 // dc/dx of each normal error
	gain   []float64
}

// spreads is how many factors have an estimate of their own, evenly from a half to fifty in the logarithm: neighbours are a quarter apart, which leaves
// an eighth of what is missing for the next step.
const spreads, leastSpreadFactor, mostSpreadFactor = 20, 0.5, 50.0

// near returns the estimate under the factor nearest to k.
func (z *sized) near(k float64) *estimate {
	best := &z.estimate
	for i := range z.others {
		if e := &z.others[i]; math.Abs(math.Log(e.spread/k)) < math.Abs(math.Log(best.spread/k)) {
			best = e
		}
	}
	return best
}

// normal points at the ith of the errors that are normal and may change the perspective.
func (d *draws) normal(i int) *float64 {
	switch i {
	case 0:
		return &d.lean
	case 1:
		return &d.tilt
	case 2:
		return &d.width
	case 3:
		return &d.focal
	case 4:
		return &d.length
	case 5:
		return &d.reference
	case 6:
		return &d.flight
	}
	return &d.marks[i-7]
}

func (d *draws) normals() int { return 7 + len(d.marks) }

// seen is c as one draw of the size's errors has it.
func (z *sized) seen(d *draws) float64 {
	power := z.power + z.powerU*d.power
	r := sizeReach * z.reach
	size := max(nearest, 1+r*(z.rate+z.u*d.size))
	return (math.Pow(size, 1/power) - 1) / r
}

// size weighs the apparent size against the rest of the knowledge; where they contradict each
// other it is left out, with a warning.
func (s *Scale) size(g Growth) []fault.Warning {
	if !g.Known || !(g.U > 0) {
		return nil
	}
	z := sized{rate: g.At(g.Skew), u: math.Hypot(g.U, sizeDoubt/s.reach), reach: s.reach,
		power: (leastPower + mostPower) / 2, powerU: (mostPower - leastPower) / 2}
	if g.Ruler {
		z.u, z.power, z.powerU, z.ruler = math.Hypot(g.U, s.rulerDoubt()/s.reach), rulerPower, 0, true
	}
	sharp := z
	z.u = math.Hypot(z.u, g.perSkew()*g.SkewU)
	noise := z.noise()
	e, variance := s.estimate(s.noise.best, noise)
	if _, ok := s.ref.(*length); ok && !s.view.tiltGiven && variance > noise {
		s.view.tiltU = levelAbandoned
		s.ref.(*length).view.tiltU = levelAbandoned
		e, variance = s.estimate(s.noise.best, noise)
	}
	z.estimate = e
	rest := s.rest()
	if apart := math.Abs(z.seen(rest)-s.geometry(rest).c) / math.Sqrt(variance+noise); apart > sizeLimit {
		return []fault.Warning{s.contradicted(&z, g, apart, variance+noise)}
	}
	s.prepare(&z, noise)
	z.used = variance > 0
	s.sized, s.growth, s.sharp = z, g, &z
	if g.SkewU > 0 {
		sharp.used = z.used
		sharp.estimate, _ = s.estimate(s.noise.best, sharp.noise())
		s.prepare(&sharp, sharp.noise())
		s.sharp = &sharp
	}
	s.seenVariance = variance + s.sharp.noise()
	return nil
}

// noise is the variance of c that the size's own errors make.
func (z *sized) noise() float64 {
	return math.Pow((z.seen(&draws{size: 1})-z.seen(&draws{size: -1}))/2, 2) +
		math.Pow((z.seen(&draws{power: 1})-z.seen(&draws{power: -1}))/2, 2)/3
}

// prepare makes the estimates for marks that scatter by other factors.
func (s *Scale) prepare(z *sized, noise float64) {
	step := math.Log(mostSpreadFactor/leastSpreadFactor) / (spreads - 1)
	for i := range spreads {
		other, _ := s.estimate(leastSpreadFactor*math.Exp(float64(i)*step), noise)
		z.others = append(z.others, other)
	}
}

// contradicted says that geometry and size lie apart by so many standard uncertainties, the variance being that of their difference. Where
// the lean is only assumed, the flight may lean by more: then that is taken to be as uncertain as the size makes it look.
func (s *Scale) contradicted(z *sized, g Growth, apart, variance float64) fault.Warning {
	rest := s.rest()
	seen, geometry := z.seen(rest), s.geometry(rest).c
	percent := func(c float64) float64 { return 100 * c * s.reach }
	if !g.Ruler {
		return fault.Warning{Code: "scale-size-contradicted",
			Message: fmt.Sprintf("the vehicle's apparent width changes by %.0f %% along the flight, where the scale makes it %.0f %%, %.1f times what both leave in doubt; the apparent size is left out: check the reference, the tilt and the trace",
				percent(seen), percent(geometry), apart)}
	}
	then := "check lean, the reference and the tilt"
	slope := z.estimate.slope[0]
	u := s.spec.Lean.U * math.Sqrt(1+(apart*apart-1)*variance/(slope*slope)) // one standard uncertainty apart, then
	switch {
	case s.leanGiven || slope == 0:
	case s.spec.Lean.Value+2*u > farthestLean:
		then = "no lean explains that: check the heights and places of the marks, rod_range and flight_range, tilt, and what is followed"
	default:
		s.spec.Lean.U = u
		then = fmt.Sprintf("the flight may lean towards or away from the camera by more than is assumed, and its lean is taken as uncertain by %.0f degrees: state lean", s.spec.Lean.U*180/math.Pi)
	}
	return fault.Warning{Code: "scale-size-contradicted",
		Message: fmt.Sprintf("the vehicle's length in the picture changes by %.1f %% along the flight, where the scale makes it %.1f %%, %.1f times what both leave in doubt; it is left out: %s",
			2*percent(seen), 2*percent(geometry), apart, then)}
}

// estimate finds how c depends on each error where the marks scatter by a factor of spread, the variance of c that makes, and how much of a
// missing c each error is then given, beside noise, the variance of what the size shows.
func (s *Scale) estimate(spread, noise float64) (e estimate, variance float64) {
	at := func(i int, x float64) float64 {
		d := s.rest()
		d.spread = spread
		*d.normal(i) = x
		return s.geometry(d).c
	}
	e.spread = spread
	for i := range s.rest().normals() {
		slope := at(i, 0.5) - at(i, -0.5)
		e.slope = append(e.slope, slope)
		variance += slope * slope
	}
	for _, slope := range e.slope {
		e.gain = append(e.gain, slope/(variance+noise))
	}
	return e, variance
}

// sizeSteps is how often the perspective is linearised anew: three leave 1e-3 of a step of 10 %.
const sizeSteps = 3

// conditioned returns the draw that agrees with the apparent size drawn with it.
func (s *Scale) conditioned(d *draws) *draws {
	z := &s.sized
	if !z.used {
		return d
	}
	x := *d
	x.marks = append(make([]float64, 0, 32), d.marks...)
	seen, e := z.seen(d), z.near(d.spread)
	for range sizeSteps {
		missing := seen - s.geometry(&x).c
		for i, m := range e.slope {
			missing -= m * (*d.normal(i) - *x.normal(i))
		}
		for i, k := range e.gain {
			*x.normal(i) = *d.normal(i) + k*missing
		}
	}
	return &x
}
