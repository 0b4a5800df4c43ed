package trace

import (
	"math"
	"slices"

	"padside/fit"
	"padside/register"
)

// A barrel is round. Seen by rays that climb t along its axis per length across it, what is painted at s lies at s + t sqrt(R^2 - q^2) in the picture, R its radius and q the distance
// from its axis; t grows by 1/f per px of the flight line, f the focal length in px. So a band becomes a bow, by 2.4 px at four fifths of the radius of a bottle 40 px wide over a field of
// 0.3 rad, where its ends are no vehicle to whoever expects it straight. Its length keeps: it is the same at both ends of a tube.

const (
	barrelTurns = 2  // times that the barrel's pixels are marked again, now that it is known how it turns
	leastRound  = 10 // px wide from which how bands bow is measured: narrower ones bow by a tenth of a pixel
)

// bulge is how far the barrel's surface at column x of the reference lies before the surface's mean, px: sqrt(R^2 - q^2) - pi/4 R for a cylinder of radius R. Seen more from above by
// an angle, what is painted there is seen lower by the angle times as much: a band that is a straight line at rest becomes a bow.
func (b *barrel) bulge(x float64) float64 {
	r, q := b.wide/2, x-b.axis
	return math.Sqrt(max(0, r*r-q*q)) - math.Pi/4*r
}

// turning measures by how much the barrel is seen more from above per px of the flight line: what the frames in motion say, the middle one.
func (b *barrel) turning(r *refiner, moving []int) float64 {
	each := make([]float64, len(moving))
	register.Parallel(len(moving), r.workers, r.basis, func(s *register.Scratch, k int) {
		m := b.measure(r, s, moving[k])
		each[k] = math.NaN()
		if m.size > 0 {
			each[k] = m.turn / r.along(moving[k])
		}
	})
	each = slices.DeleteFunc(each, math.IsNaN)
	if len(each) < leastRuler {
		return 0
	}
	return fit.Median(each)
}
