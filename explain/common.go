package explain

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"

	"padside/camera"
	"padside/motion"
)

// shared is what the launches of one setup have in common: a warp of the heights and a rate of the clock. The warp's three
// coefficients are written as mean + sum z_k part_k with independent standard normal z_k, the principal parts of the warps that the scale
// draws.
type shared struct {
	name  string
	mean  camera.Warp
	parts []camera.Warp
	rateU float64
	first int // index of the first of its parameters: z_k, then the rate, in units of rateU, if any
}

const (
	// warpDraws is how many warps show the scale's covariance: its standard deviations to 2 %.
	warpDraws = 1000
	// smallPart is the standard deviation, relative to the height in view, from which a part is worth a parameter: 10 um of a metre.
	smallPart = 1e-5
)

// share finds the principal parts of the common errors over heights up to top (m).
func share(name string, c motion.Common, top float64, seed uint64) *shared {
	s := &shared{name: name, rateU: c.RateU}
	if c.Warp == nil || !(top > 0) {
		return s
	}
	unit := [3]float64{1, top, top * top} // coefficient times unit: relative change of the height at the top
	draws := mat.NewDense(warpDraws, 3, nil)
	var mean [3]float64
	for i := range warpDraws {
		w := c.Warp(rand.New(rand.NewPCG(seed, uint64(i))), "")
		for k := range 3 {
			draws.Set(i, k, w.E[k]*unit[k])
			mean[k] += w.E[k] * unit[k] / warpDraws
		}
	}
	cov := mat.NewSymDense(3, nil)
	for i := range warpDraws {
		for a := range 3 {
			for b := a; b < 3; b++ {
				cov.SetSym(a, b, cov.At(a, b)+(draws.At(i, a)-mean[a])*(draws.At(i, b)-mean[b])/(warpDraws-1))
			}
		}
	}
	for k := range 3 {
		s.mean.E[k] = mean[k] / unit[k]
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(cov, true) {
		return s
	}
	var v mat.Dense
	eigen.VectorsTo(&v)
	for j, value := range eigen.Values(nil) {
		sd := math.Sqrt(math.Max(0, value))
		if sd < smallPart {
			continue
		}
		var w camera.Warp
		for k := range 3 {
			w.E[k] = sd * v.At(k, j) / unit[k]
		}
		s.parts = append(s.parts, w)
	}
	return s
}

// count is how many parameters it has.
func (s *shared) count() int {
	n := len(s.parts)
	if s.rateU > 0 {
		n++
	}
	return n
}

// warp returns the warp of the parameters x (all of the problem's).
func (s *shared) warp(x []float64) camera.Warp {
	w := s.mean
	for k, p := range s.parts {
		for c := range 3 {
			w.E[c] += x[s.first+k] * p.E[c]
		}
	}
	return w
}

// clock returns true time over time of the observations.
func (s *shared) clock(x []float64) float64 {
	if s.rateU == 0 {
		return 1
	}
	return 1 + s.rateU*x[s.first+len(s.parts)]
}

// source names parameter k of those of s, for the budget.
func (s *shared) source(k int) string {
	if k < len(s.parts) {
		return scaleError
	}
	return timeBase
}

// Names of sources of uncertainty, beside the keys of unknowns known beforehand.
const (
	scaleError = "scale"
	timeBase   = "time base"
	traceNoise = "trace noise"
)
