package camera

import "math"

// A vehicle is round, and what is followed of it lies between its axis and the side that faces the camera: bands across a barrel of radius R lie
// sqrt(R^2 - q^2) before the axis at q across it, pi/4 R = 0.79 R in the mean over its width and 0.84 R over nine tenths of it; a nose is thinner. Of bottles
// and motors drawn solid traces follow what lies 0.8 R before the axis, give or take 0.08 R (docs/measured.md). What is seen at that distance is farther away than the near side,
// to which flight_range goes, and nearer than marks on the flight line, which is where the axis flies.
const (
	followedDepth, followedDepthU = 0.80, 0.08 // of R before the axis
	// marksDepthU is the standard uncertainty of how far from the axis, toward the camera, marks on the flight line stand, of R: a rail may stand
	// beside it or behind (rectangular, an assumption, no source).
	marksDepthU = 0.58
	// endsDepth is how far before the axis the ends of a length on the vehicle lie: anywhere between its outline and the middle of its near side (rectangular).
	endsDepth, endsDepthU = 0.5, 0.29
)

// round takes into account how thick the vehicle is, where that is known.
func (s *Scale) round(g Growth) {
	if !(g.Wide > 0) {
		return
	}
	before, u := 1.0, 0.0 // where it is measured at
	switch {
	case s.spec.OnLine:
		before, u = 0, marksDepthU
	case s.ranges.given:
	case !s.beside():
		before, u = endsDepth, endsDepthU
	default: // the allowance for ranges that are not given is much wider
		return
	}
	share := g.Wide / 2 * math.Abs(s.best.a) / s.flightRange(s.best, s.view) // R over the distance
	s.ranges.behind = (before - followedDepth) * share
	s.ranges.flight = math.Hypot(s.ranges.flight, math.Hypot(u, followedDepthU)*share)
}
