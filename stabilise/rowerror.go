package stabilise

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"padside/timebase"
)

// lagging is what the patches' own lags make of the fit. With u what a lag of 1 s of one patch
// makes of the rows, its residuals ask for q = uᵀW r; of lags of variance s² and noise by the
// weights the sum of q² is expected to be the trace of T + s² T², T = uᵀWQu, with Q what the fit
// leaves (derived).
type lagging struct {
	q      []float64
	t      *mat.Dense // T, patches by patches
	answer *mat.Dense // unknowns by patches: what the unknowns answer to each u
	longer float64    // see memory
}

// lags works it out.
func (e *rowEquations) lags() lagging {
	n, size := e.x.Len(), e.anchors
	out := lagging{q: make([]float64, size), t: mat.NewDense(size, size, nil), answer: &mat.Dense{}}
	across := mat.NewDense(n, size, nil) // Zᵀ keep u
	var same, next float64               // of what is left, in one frame and the next
	last := map[int][2]float64{}
	for f := range e.frames {
		r := &e.frames[f]
		for i := range r.y {
			a := r.anchors[i/2]
			out.q[a] += r.weight[i] * r.v[i] * r.left[i]
			for j := range r.y {
				v := r.keep.At(i, j) * r.v[j]
				b := r.anchors[j/2]
				out.t.Set(a, b, out.t.At(a, b)+r.v[i]*v)
				across.Set(r.column(i), b, across.At(r.column(i), b)+v)
				across.Set(n-2, b, across.At(n-2, b)+r.kx[i]*v)
				across.Set(n-1, b, across.At(n-1, b)+r.ky[i]*v)
			}
		}
		for k, a := range r.anchors {
			now := [2]float64{r.left[2*k], r.left[2*k+1]}
			if was, ok := last[a]; ok {
				next += r.weight[2*k] * (was[0]*now[0] + was[1]*now[1])
				same += r.weight[2*k] * (now[0]*now[0] + now[1]*now[1])
			}
			last[a] = now
		}
	}
	var part mat.Dense
	out.answer.Mul(e.inverse, across)
	part.Mul(across.T(), out.answer)
	out.t.Sub(out.t, &part)
	out.longer = memory(next, same)
	return out
}

// gradient is k with its covariance: that of the readings' noise, with what neighbouring frames
// share, and that of the patches' own lags, which look like a shutter where they go with the place.
func (e *rowEquations) gradient() (g timebase.Gradient, ok bool) {
	mend, ok := e.attenuated()
	if !ok {
		return g, false
	}
	n, l := e.x.Len(), e.lags()
	lag := l.variance()
	var cov [2][2]float64
	for i := range 2 {
		for j := range 2 {
			cov[i][j] = l.longer * e.inverse.At(n-2+i, n-2+j)
			for a := range e.anchors {
				cov[i][j] += lag * l.answer.At(n-2+i, a) * l.answer.At(n-2+j, a)
			}
		}
	}
	k := [2]float64{e.x.AtVec(n-2) / rowSpan, e.x.AtVec(n-1) / rowSpan}
	g.X, g.Y = mend[0][0]*k[0]+mend[0][1]*k[1], mend[1][0]*k[0]+mend[1][1]*k[1]
	for i := range 2 {
		for j := range 2 {
			for a := range 2 {
				for b := range 2 {
					g.Cov[i][j] += mend[i][a] * cov[a][b] * mend[j][b] / (rowSpan * rowSpan)
				}
			}
		}
	}
	return g, true
}

// attenuated is what mends k of the noise in the velocities it rests on, which makes it less: with
// S the information of k and E what noise adds to it, (S - E)⁻¹ S (errors in variables: Fuller,
// Measurement Error Models, 1987, 2.2, from memory). It reports false where the noise is most of
// it.
func (e *rowEquations) attenuated() (mend [2][2]float64, ok bool) {
	n := e.x.Len()
	var s, noise [2][2]float64
	inverse2(&s, [2][2]float64{{e.inverse.At(n-2, n-2), e.inverse.At(n-2, n-1)}, {e.inverse.At(n-1, n-2), e.inverse.At(n-1, n-1)}})
	gain := e.noiseGain()
	for f := range e.frames {
		r := &e.frames[f]
		for i, p := range r.terms {
			for j, q := range r.terms {
				var v float64
				for a := range 4 {
					for b := range 4 {
						v += p[a] * r.solve.At(a, b) * gain[a][b] * q[b]
					}
				}
				v *= r.keep.At(i, j) / (rowSpan * rowSpan)
				for a := range 2 {
					for b := range 2 {
						noise[a][b] += v * r.places[i/2][a] * r.places[j/2][b]
					}
				}
			}
		}
	}
	var left [2][2]float64
	for a := range 2 {
		for b := range 2 {
			left[a][b] = s[a][b] - noise[a][b]
		}
	}
	for a := range 2 {
		if left[a][a] < leastSwing*s[a][a] {
			return mend, false
		}
	}
	var inverse [2][2]float64
	if !inverse2(&inverse, left) {
		return mend, false
	}
	for a := range 2 {
		for b := range 2 {
			mend[a][b] = inverse[a][0]*s[0][b] + inverse[a][1]*s[1][b]
		}
	}
	return mend, true
}

// noiseGain is the covariance of the noise in the velocities of pan, tilt, size and roll, each
// smoothed in its own way, over that in themselves, 1/s²: by what is left of the readings, patch by
// patch, for a codec's errors are not white.
func (e *rowEquations) noiseGain() (gain [4][4]float64) {
	var square float64
	for a := range e.anchors {
		var t []float64
		var left [2][]float64
		for f := range e.frames {
			r := &e.frames[f]
			if k := slices.Index(r.anchors, a); k >= 0 {
				t = append(t, r.t)
				left[0], left[1] = append(left[0], r.left[2*k]), append(left[1], r.left[2*k+1])
			}
		}
		if len(t) < fewestRows {
			continue
		}
		for _, y := range left {
			var slopes [4][]float64
			for k, fastest := range motionFastest {
				if curve, ok := newSmoothed(t, 2*math.Pi*fastest); ok {
					slopes[k] = curve.slopes(y)
				}
			}
			for i, v := range y {
				square += v * v
				for k := range gain {
					for j := range gain {
						gain[k][j] += slopes[k][i] * slopes[j][i]
					}
				}
			}
		}
	}
	for k := range gain {
		for j := range gain {
			gain[k][j] /= max(square, 1e-12)
		}
	}
	return gain
}

// inverse2 inverts a symmetric positive definite matrix of two by two.
func inverse2(out *[2][2]float64, a [2][2]float64) bool {
	det := a[0][0]*a[1][1] - a[0][1]*a[1][0]
	if !(det > 0) {
		return false
	}
	*out = [2][2]float64{{a[1][1] / det, -a[0][1] / det}, {-a[1][0] / det, a[0][0] / det}}
	return true
}

// memory is by how much the variance of a slow sum grows where neighbours have the correlation
// next/same: (1 + r)/(1 - r), as of a process of first order.
func memory(next, same float64) float64 {
	const most = 0.9
	if same <= 0 {
		return 1
	}
	r := min(max(next/same, 0), most)
	return (1 + r) / (1 - r)
}

// variance is that of the patches' own lags, s²; widened for how few patches tell it.
func (l *lagging) variance() float64 {
	var found, noise, square float64
	for a := range l.q {
		found += l.q[a] * l.q[a]
		noise += l.longer * l.t.At(a, a)
		for b := range l.q {
			square += l.t.At(a, b) * l.t.At(a, b)
		}
	}
	free := float64(len(l.q) - absorbed)
	return max(0, found-noise) / square * free / (free - 2)
}

// absorbed is how many patterns of lags among the patches the motions and k take up: the same for
// all, and in proportion to x and y.
const absorbed = 3
