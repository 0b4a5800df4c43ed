package motion

import "math"

// A bottle that is let go begins with a jolt: as long as its water has not gathered speed, the
// force that makes it do so pushes the bottle too, 2 to 9 times as hard as the jet will, for a
// fraction of a millisecond to 2 ms (derived: package flight, water_inertia; that the water's
// inertia matters: Gommes, Am. J. Phys. 78 (2010) 236). So it has a head start: from then on it
// goes as if it had begun jolt earlier with the thrust that follows, and came joltLate times as
// late into that speed:
//
//	v = b (t + jolt),   h = b (t^2/2 + jolt (t - joltLate jolt))
//
// 0.3 to 2.3 ms over bottles of 0.5 to 2 l, nozzles of 9 to 22 mm, 2.5 to 7.5 bar. A plug that
// leaves first, or a hand on the valve, takes it away: one in two has none, and of the others ln of
// it is even from joltFelt to joltMost. As a coordinate it is ln of a time that is even from
// joltLeast on, below joltFelt of which there is none, with the tails of a normal of spread
// joltEdge beyond.
const (
	joltLeast = joltFelt * joltFelt / joltMost // s
	joltFelt  = 0.3e-3
	joltMost  = 2.5e-3
	joltEdge  = 0.25
	joltLate  = 0.2
	// joltPull is how hard must be pulled what nobody says the kind of, m/s2, for it to be more
	// than let go, and joltStep how far apart frames are, s, that cannot tell a jolt from a launch
	// tube, which pushes hardest at first: of faster ones of a launch that nobody calls a bottle
	// none is supposed.
	joltPull = 30.0
	joltStep = 2e-3
)

// joltNorm is the integral of the prior, its top being one.
var joltNorm = math.Log(joltMost/joltLeast) + joltEdge*math.Sqrt(2*math.Pi)

// jolts says whether what flies may begin so. After rest that sways a jolt cannot be told from a
// sway.
func (s *series) jolts(k Kind) bool {
	switch {
	case s.sway != nil:
		return false
	case k == AnyKind:
		return s.pull > joltPull && s.step*s.unitT > joltStep
	}
	return k == Bottle
}

// joltOf is the head start of a coordinate, in the units of the series.
func (p *problem) joltOf(u float64) float64 {
	if t := math.Exp(u); t*p.s.unitT > joltFelt {
		return t
	}
	return 0
}

// logJolt is ln of the prior of the head start.
func (p *problem) logJolt(u []float64) float64 {
	if !p.jolt {
		return 0
	}
	x, t := 0.0, u[cJolt]+math.Log(p.s.unitT)
	switch lo, hi := math.Log(joltLeast), math.Log(joltMost); {
	case t < lo:
		x = (lo - t) / joltEdge
	case t > hi:
		x = (t - hi) / joltEdge
	}
	return -0.5*x*x - math.Log(joltNorm)
}

// joltStarts are points to climb from: hardly a jolt, and a usual one.
func (p *problem) joltStarts(u []float64) (out [][]float64) {
	for _, t := range [...]float64{0.1e-3, 1.2e-3} {
		out = append(out, append(append([]float64(nil), u...), math.Log(t/p.s.unitT)))
	}
	return out
}

// thrown is the state just after first motion, off the level of rest, of a launch coefficient of
// one.
func (p *params) thrown() vec {
	switch p.shape.begin {
	case builtUp:
		return vec{j: 1}
	case atOnce:
		return vec{h: -joltLate * p.jolt * p.jolt, v: p.jolt, a: 1}
	}
	return vec{}
}
