package trace

import (
	"math"

	"padside/fit"
)

// Coarse places that continue the path. Where fine matching ends before the vehicle leaves the
// picture, or fails for some frames, the search by correlation may have gone over to what lies
// behind the vehicle, or to another part of it: it slides along the edge of a roof, or stays behind
// by its own length. A vehicle does not leap. So each coarse place must lie where the places before
// it say that it is: on the parabola through the last of them, within what both leave in doubt and
// a change of the acceleration by as much as it is. What does not is left out, and with it all that
// follows up to the next close match.

const (
	pathPlaces = 8   // whose parabola is continued
	pathLeast  = 4   // that make one
	pathSigmas = 3.0 // standard uncertainties by which a coarse place may lie off it
	pathSlack  = 0.5 // px: what is left of size and turn in a place that only the coarse search found
)

// judgeRuns marks as adrift the coarse places that do not continue the path: forward from the close
// matches, and back from the first of them. What falls is let go by a hand, before which nothing is
// matched closely; how far it may err there, wandered tells.
func (r *refiner) judgeRuns() {
	n := len(r.matches)
	first := n // that is matched closely
	for i := n - 1; i >= 0; i-- {
		if r.matches[i].OK && !r.coarse[i] {
			first = i
		}
	}
	r.judgeRun(first, n, first)
	if first == n || r.falls {
		return
	}
	last := min(n, first+pathPlaces) // far enough for a path to continue
	r.judgeRun(last-1, -1, first)
}

// judgeRun does so from sighting i on, up to end or back to it. Back it judges only what comes
// before first, the first close match.
func (r *refiner) judgeRun(i, end, first int) {
	step := 1
	if end < i {
		step = -1
	}
	var path []int // the last places taken, the newest last
	lost := false
	for ; i != end; i += step {
		switch {
		case !r.matches[i].OK:
			continue
		case !r.coarse[i]:
			lost = false
		case step < 0 && i > first: // judged the other way
		case lost || len(path) >= pathLeast && !r.continues(path, i):
			r.adrift[i], r.matches[i].OK, lost = true, false, true
			continue
		}
		if path = append(path, i); len(path) > pathPlaces {
			path = path[1:]
		}
	}
}

// continues reports whether the coarse place of sighting i lies where the parabolas in time, along
// and across the line, through the places path say.
func (r *refiner) continues(path []int, i int) bool {
	var t, along, across, sigma []float64
	for _, p := range path {
		t, along, across, sigma = append(t, r.sights[p].t), append(along, r.along(p)), append(across, r.across(p)), append(sigma, math.Hypot(pathSlack, r.placeU(p)))
	}
	on := func(y []float64, at float64) bool {
		p, err := fit.FitPolynomial(t, y, 2, fit.Options{Sigma: sigma})
		if err != nil {
			return true
		}
		ahead := r.sights[i].t - t[len(t)-1]
		value, u := p.At(r.sights[i].t, 0)
		bend, _ := p.At(t[len(t)-1], 2)
		return math.Abs(at-value) <= pathSigmas*math.Hypot(math.Hypot(u, pathSlack), r.placeU(i))+math.Abs(bend)*ahead*ahead/2
	}
	return on(along, r.along(i)) && on(across, r.across(i))
}

// placeU is the standard uncertainty, px, of the place of sighting i along the line, its match's
// own.
func (r *refiner) placeU(i int) float64 {
	return math.Sqrt(max(0, varianceAlong(r.matches[i].White, r.line.Ux, r.line.Uy)))
}

// across is how far to the side of the flight line sighting i is, px.
func (r *refiner) across(i int) float64 {
	x, y := r.steadied(i)
	return -(x-r.line.Rest.X)*r.line.Uy + (y-r.line.Rest.Y)*r.line.Ux
}
