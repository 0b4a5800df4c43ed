package stabilise

import (
	"math"

	"padside/timebase"
)

// A rolling shutter and a hand. A place at p px from the picture's middle is exposed k·p later than
// the middle, k = (kx, ky) s/px, and shows the camera where it was then: what is at p at rest is
// seen shifted by
//
//	d = m(p) + (k·p) v(p)
//
// with m the motion at the time of the middle and v its velocity, px/s (first order in the readout
// time). With the same v everywhere that is an affine map with the matrix A = v kᵀ. Of that, size
// and roll take up A11 + A22 and A21 - A12; what is left tells of the shutter:
//
//	A11 - A22 = vx kx - vy ky,  A12 + A21 = vx ky + vy kx
//
// (derived; TestRowsOfAHand holds it against readings made place by place). Over the frames of a
// clip these are as many equations as there are frames, and least squares gives k.

// velocity is how fast the camera moves in one frame, as a motion per s.
type velocity struct{ pan, tilt, size, roll, k float64 }

// at is that of a place p px from the middle, px/s.
func (v velocity) at(x, y float64) (vx, vy float64) {
	return motion{pan: v.pan, tilt: v.tilt, size: v.size, roll: v.roll, k: v.k}.at(x, y)
}

const (
	// fewestRows is how many frames at least are wanted, and fewestAnchorRows how many anchors.
	fewestRows       = 8
	fewestAnchorRows = 6
	// leastSwing is the share of what the velocities tell that must be the camera's, and not noise.
	leastSwing = 0.4
)

// motionFastest is the frequency, Hz, that smoothing of pan, tilt, size and roll passes by half: a
// hand trembles at 8 to 12 Hz, and turns and zooms more slowly (common practice, no source).
var motionFastest = [4]float64{30, 30, 8, 8}

// terms are pan, tilt, size and roll.
func (m *motion) terms() [4]float64 { return [4]float64{m.pan, m.tilt, m.size, m.roll} }

// velocities are those of motions in frames at times t (s, increasing).
func velocities(m []motion, t []float64) ([]velocity, bool) {
	var slopes [4][]float64
	for k, fastest := range motionFastest {
		curve, ok := newSmoothed(t, 2*math.Pi*fastest)
		if !ok {
			return nil, false
		}
		y := make([]float64, len(m))
		for i := range m {
			y[i] = m[i].terms()[k]
		}
		slopes[k] = curve.slopes(y)
	}
	out := make([]velocity, len(m))
	for i := range m {
		out[i] = velocity{slopes[0][i], slopes[1][i], slopes[2][i], slopes[3][i], m[i].k}
	}
	return out, true
}

// Rows is what the still background tells of a rolling shutter: the delay for each px. seconds is a
// frame's time. It reports false where too little is seen, or the camera hardly moves.
//
// The covariance holds the readings' noise, with what neighbouring frames share, and delays of the
// patches themselves, as where a codec lets each lag by its own: how much these scatter about a
// plane tells how far a plane may be off. To that comes the share shutterModel of the delay for
// what the first order leaves out.
func (s *Background) Rows(seconds func(frame int) float64) (timebase.Gradient, bool) {
	e := newRowEquations(s, seconds)
	if len(e.frames) < fewestRows || e.anchors < fewestAnchorRows {
		return timebase.Gradient{}, false
	}
	for range rowRounds {
		if !e.speeds() || !e.solve() {
			return timebase.Gradient{}, false
		}
		e.reweigh()
	}
	g, ok := e.gradient()
	if !ok {
		return g, false
	}
	for i, a := range [2]float64{g.X, g.Y} {
		for j, b := range [2]float64{g.X, g.Y} {
			g.Cov[i][j] = rowsScale*rowsScale*g.Cov[i][j] + shutterModel*shutterModel*a*b
		}
	}
	g.Free = rowsFree
	return g, true
}

// On drawn hand-held takes (docs/measured.md) k lies off by 1.3 of what the readings state, root
// mean square over both axes, and by three in one of ten: rotated and blurred patches err by more
// than their scatter, and by more in some takes than in others.
const (
	rowsScale = 1.2
	rowsFree  = 4.0
)

// shutterModel is the relative standard uncertainty of a delay for what is left of second order,
// and for a motion that smoothing and the frames' distance hide.
const shutterModel = 0.05
