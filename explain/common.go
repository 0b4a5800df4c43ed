package explain

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"

	"padside/camera"
	"padside/motion"
)

// shared is what the launches of one setup have in common: errors of the heights and a rate of the clock.
type shared struct {
	name  string
	parts []camera.Warp
	rateU float64
	first int // index of the first of its parameters: one for each part, then the rate, in units of rateU, if any
}

const (
	// warpDraws is how many warps show the scale's covariance: its standard deviations to 2 %.
	warpDraws = 1000
	// smallPart is the standard deviation, relative to the height in view, from which a part is worth a parameter: 10 um of a metre.
	smallPart = 1e-5
)

// principal finds the mean of drawn warps and their principal parts over heights up to top (m): the warp is mean + sum z_k part_k with independent
// standard normal z_k.
func principal(draw func(i uint64) camera.Warp, top float64) (mean camera.Warp, parts []camera.Warp) {
	unit := [3]float64{1, top, top * top} // coefficient times unit: relative change of the height at the top
	var rows [warpDraws][3]float64
	var centre [3]float64
	for i := range rows {
		w := draw(uint64(i))
		for k := range 3 {
			rows[i][k] = w.E[k] * unit[k]
			centre[k] += rows[i][k] / warpDraws
		}
	}
	cov := mat.NewSymDense(3, nil)
	for _, row := range rows {
		for a := range 3 {
			for b := a; b < 3; b++ {
				cov.SetSym(a, b, cov.At(a, b)+(row[a]-centre[a])*(row[b]-centre[b])/(warpDraws-1))
			}
		}
	}
	for k := range 3 {
		mean.E[k] = centre[k] / unit[k]
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(cov, true) {
		return mean, nil
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
		parts = append(parts, w)
	}
	return mean, parts
}

// share finds what the launches of a setup have in common, over heights up to top (m).
func share(name string, c motion.Common, top float64, seed uint64) *shared {
	s := &shared{name: name, rateU: c.RateU}
	if c.Warp != nil && top > 0 {
		_, s.parts = principal(func(i uint64) camera.Warp { return c.Warp(stream(seed, 2*i), stream(seed, 1), "") }, top)
	}
	return s
}

// own finds the mean warp and the parts that are one launch's alone: how it leaned.
func own(c motion.Common, top float64, seed uint64) (mean camera.Warp, parts []camera.Warp) {
	if c.Warp == nil || !(top > 0) {
		return mean, nil
	}
	_, parts = principal(func(i uint64) camera.Warp { return c.Warp(stream(seed, 0), stream(seed, 2*i+1), "") }, top)
	mean, _ = principal(func(i uint64) camera.Warp { return c.Warp(stream(seed, 2*i), stream(seed, 2*i+1), "") }, top)
	return mean, parts
}

func stream(seed, n uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, n)) }

// count is how many parameters it has.
func (s *shared) count() int {
	n := len(s.parts)
	if s.rateU > 0 {
		n++
	}
	return n
}

// clock returns true time over time of the observations.
func (s *shared) clock(x []float64) float64 {
	if s.rateU == 0 {
		return 1
	}
	return 1 + s.rateU*x[s.first+len(s.parts)]
}

// warp is the warp of a launch's heights at parameters x.
func (l *launch) warp(x []float64) camera.Warp {
	w := l.mean
	add := func(parts []camera.Warp, first int) {
		for k, p := range parts {
			for c := range 3 {
				w.E[c] += x[first+k] * p.E[c]
			}
		}
	}
	add(l.setup.parts, l.setup.first)
	add(l.parts, l.first+l.atParts())
	return w
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
