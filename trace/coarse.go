package trace

import (
	"math"
	"slices"

	"padside/camera"
)

// coarseU is the least standard uncertainty, px, of a place that only the coarse search found.
const coarseU = 0.25

// leastFallBack is how many frames show whether coarse places lie on a smooth path.
const leastFallBack = 12

// fallBack takes the coarse places where fine matching has nothing to hold on to, with an
// uncertainty from how they scatter about a parabola through their neighbours.
func (r *refiner) fallBack() {
	n := len(r.sights)
	before, fine := slices.Clone(r.warps), r.line
	r.line = camera.FlightLine{}
	for i, s := range r.sights {
		r.warps[i] = warp{X: s.x, Y: s.y, A: 1}
	}
	r.orient()
	u := math.Hypot(coarseU, roughness(n, r.along))
	drift := renewalU * math.Sqrt(float64(r.renewed))
	if n < leastFallBack+4 || u > 3*coarseU {
		r.warps, r.line = before, fine // the coarse places are no better
		return
	}
	r.coarse = make([]bool, n)
	for i := range r.sights {
		r.takeCoarse(i, math.Hypot(u, drift))
	}
}

// renewalU is what taking a new reference for the coarse search may add to its error, px: one picture's noise and the changed looks.
const renewalU = 0.3

// takeCoarse makes the place of sighting i, in r.warps, a match of standard uncertainty u in either direction, beside
// what guesses add.
func (r *refiner) takeCoarse(i int, u float64) {
	u = math.Hypot(u, guessU*float64(r.sights[i].guesses))
	c := [2][2]float64{{u * u, 0}, {0, u * u}}
	r.matches[i] = match{warp: r.warps[i], g: 1, quality: r.sights[i].quality, cov: c, white: c, ok: true}
	r.coarse[i] = true
}
