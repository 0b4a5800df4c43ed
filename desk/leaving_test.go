package desk

import (
	"math"
	"math/rand/v2"
	"testing"

	"padside/camera"
)

// Spots that err by 0.1 px until they are 1 px off rest, and by 0.02 px from then on, of which only
// the latter and the error at rest are stated: the mean square of what the first are off, over what
// is taken for it, is 1 to within three of its standard deviations, sqrt(2/n) (chi squared). By their
// own statement alone it is 25.
func TestSpotsLeaveTheErrorAtRestSlowly(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	s := seen{line: camera.FlightLine{Ux: 0, Uy: -1}, restU: 0.1}
	const n = 400
	var near, far float64
	for i := range n {
		way := 0.6 + 0.3*float64(i)/n
		e := 0.1 * r.NormFloat64()
		q := spot{y: -(way + e), u: 0.02}
		near += e * e / (s.own(q) * s.own(q)) / n
		e = 0.02 * r.NormFloat64()
		q.y = -(10 + way + e)
		far += e * e / (s.own(q) * s.own(q)) / n
	}
	if most := 3 * math.Sqrt(2./n); math.Abs(near-1) > most || math.Abs(far-1) > most {
		t.Errorf("mean squares of errors over what is taken for them: %.2f near rest, %.2f far off, want 1 within %.2f", near, far, most)
	}
}
