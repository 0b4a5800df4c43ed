package trace

import (
	"math"
	"slices"

	"padside/camera"
	"padside/fit"
	"padside/register"
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
		r.warps[i] = register.Warp{X: s.x, Y: s.y, A: 1}
	}
	r.orient()
	u := math.Hypot(coarseU, roughness(n, r.along))
	drift := renewalU * math.Sqrt(float64(r.renewed))
	if n < leastFallBack+4 || u > 3*coarseU {
		r.warps, r.line = before, fine // the coarse places are no better
		return
	}
	r.coarse = make([]bool, n)
	r.doubt = r.together(before)
	for i := range r.sights {
		r.takeCoarse(i, math.Hypot(u, drift))
	}
}

// coarseTogether is the standard uncertainty, px, that the coarse places of neighbouring frames
// have together, beside how they scatter: a correlation that takes in what lies behind the vehicle
// leans towards an edge there for as long as that is near, and towards the band of the vehicle that
// is best seen.
const coarseTogether = 1.0

// together is that of each sighting where only coarse places are left: as much as they differ from
// where fine matching put them, which went astray or else they did. At rest both see the same
// picture again and again.
func (r *refiner) together(fine []register.Warp) []float64 {
	var apart []float64
	for i, w := range fine {
		if r.matches[i].OK && r.matches[i].Quality > register.LeastMatch {
			apart = append(apart, (r.warps[i].X-w.X)*r.line.Ux+(r.warps[i].Y-w.Y)*r.line.Uy)
		}
	}
	u := coarseTogether
	if len(apart) >= leastSamples {
		_, sd := fit.MAD(apart)
		u = max(u, sd/math.Sqrt2)
	}
	out := make([]float64, len(fine))
	for i := range out {
		if i > r.rest[len(r.rest)-1] {
			out[i] = u
		}
	}
	return out
}

// doubtCoarse adds it to r.doubt where single places are coarse.
func (r *refiner) doubtCoarse() {
	if r.coarse == nil {
		return
	}
	if r.doubt == nil {
		r.doubt = make([]float64, len(r.sights))
	}
	for i := range r.sights {
		if r.coarse[i] && math.Abs(r.along(i)) > coarseTogether {
			r.doubt[i] = max(r.doubt[i], coarseTogether)
		}
	}
}

// renewalU is what taking a new reference for the coarse search may add to its error, px: one picture's noise and the changed looks.
const renewalU = 0.3

// takeCoarse makes the place of sighting i, in r.warps, a match of standard uncertainty u in either direction, beside
// what guesses add.
func (r *refiner) takeCoarse(i int, u float64) {
	u = math.Hypot(u, guessU*float64(r.sights[i].guesses))
	c := [2][2]float64{{u * u, 0}, {0, u * u}}
	r.matches[i] = register.Match{Warp: r.warps[i], G: 1, Quality: r.sights[i].quality, Cov: c, White: c, OK: true}
	r.coarse[i] = true
}

const (
	// mostRough is how far, px, coarse places in flight may scatter about a smooth path and still be places of one point of the vehicle: they are good
	// to a pixel or two.
	mostRough = 2.0
	// leastRough is how many stretches of five frames show how they scatter.
	leastRough = 4
)

// judgeCoarse marks the coarse places in flight as adrift where they scatter about a smooth path by more than such places do: the search then holds on to
// one band of the vehicle before one background and to another before the next (a rocket as dark as the trees behind its nose, then before a bright sky: up to 80 px off),
// which its correlation does not show.
func (r *refiner) judgeCoarse() {
	n := len(r.sights)
	r.adrift = make([]bool, n)
	if r.coarse == nil {
		return
	}
	r.judgeRuns()
	flies := func(i int) bool { return math.Abs(r.along(i)) > mostRough }
	var e []float64
	for i := 2; i+2 < n; i++ {
		some, whole := false, r.sights[i+2].frame-r.sights[i-2].frame == 4
		for k := i - 2; k <= i+2; k++ {
			some, whole = some || r.coarse[k], whole && r.matches[k].OK && flies(k)
		}
		if some && whole {
			e = append(e, math.Abs(r.along(i-2)-4*r.along(i-1)+6*r.along(i)-4*r.along(i+1)+r.along(i+2))/math.Sqrt(70))
		}
	}
	if len(e) < leastRough || 1.4826*fit.Median(e) <= mostRough {
		return
	}
	for i := range r.adrift {
		if r.coarse[i] && flies(i) {
			r.adrift[i], r.matches[i].OK = true, false
		}
	}
}
