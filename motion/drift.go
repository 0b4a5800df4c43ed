package motion

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// drift is one supposition about how the errors of a trace hang together from frame to frame. Beside what each frame errs by
// itself, u, places drift: another background, a lens that bends what is far from its axis, shading that comes and goes.
// Errors have the covariance u_i u_j (delta_ij + ratio^2 exp(-(t_i - t_j)^2/(2 length^2))) within one flight.
type drift struct {
	ratio, length float64 // length in units of the first flight's time
	prior         float64
}

// drifts lists what is supposed: none, or one from as large as the frames' own errors to four times that, the larger the
// less probable (half-Cauchy in the ratio; Gelman, Bayesian Anal. 1 (2006) 515), and as quick as a fortieth of the fall to as slow as a
// fifth, in octaves. Slower ones nothing tells from gravity.
func drifts() []drift {
	list := []drift{{prior: 0.5}}
	lengths, ratios := [...]float64{1. / 40, 1. / 20, 1. / 10, 1. / 5}, [...]float64{1, 2, 4}
	var sum float64
	for _, r := range ratios {
		sum += r / (1 + r*r) * float64(len(lengths))
	}
	for _, length := range lengths {
		for _, r := range ratios {
			list = append(list, drift{ratio: r, length: length, prior: 0.5 * r / (1 + r*r) / sum})
		}
	}
	return list
}

// whitener turns residuals of all flights into independent ones of unit variance.
type whitener struct {
	blocks []*mat.TriDense // lower Cholesky factor of each flight's covariance
	logDet float64
}

// newWhitener makes it; ok is false where the covariance is singular.
func newWhitener(flights []freeFlight, d drift) (w whitener, ok bool) {
	first := flights[0]
	length := d.length * (first[len(first)-1].T - first[0].T)
	for _, f := range flights {
		c := mat.NewSymDense(len(f), nil)
		for i := range f {
			for j := i; j < len(f); j++ {
				var r float64
				if d.ratio > 0 {
					x := (f[i].T - f[j].T) / length
					r = d.ratio * d.ratio * math.Exp(-x*x/2)
				}
				if i == j {
					r++
				}
				c.SetSym(i, j, f[i].U*f[j].U*r)
			}
		}
		var chol mat.Cholesky
		if !chol.Factorize(c) {
			return w, false
		}
		var l mat.TriDense
		chol.LTo(&l)
		w.blocks = append(w.blocks, &l)
		w.logDet += chol.LogDet()
	}
	return w, true
}

// apply solves L x = v in place, flight after flight.
func (w *whitener) apply(v []float64) {
	for _, l := range w.blocks {
		raw := l.RawTriangular()
		for i := range raw.N {
			row := raw.Data[i*raw.Stride : i*raw.Stride+i+1]
			s := v[i]
			for j, x := range row[:i] {
				s -= x * v[j]
			}
			v[i] = s / row[i]
		}
		v = v[raw.N:]
	}
}
