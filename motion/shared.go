package motion

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"padside/camera"
)

// shared is what the frames have in common: the warp of heights, y = h (1 + E0 + E1 h + E2 h^2), as a point z of up to
// three numbers that are independent and of unit variance: E = mean + root z. The flight itself tells of z what it can: its curve
// shows part of the perspective.
type shared struct {
	mean [3]float64
	root [][3]float64 // one row per number
	back [][3]float64 // z = back (E - mean)
	top  float64      // m, the unit of height in which E is taken
}

// sharedDraws is how many draws the covariance is taken from: it is known to 5 %.
const sharedDraws = 800

// leastShared is the standard deviation of a warp that is left out, relative to the height.
const leastShared = 1e-6

// newShared learns mean and covariance from the draws with one source held.
func newShared(in *Input, top float64, hold string) *shared {
	s := &shared{top: top}
	if in.Common.Warp == nil && in.Common.Delay == nil {
		return s
	}
	c := mat.NewSymDense(3, nil)
	list := make([][3]float64, sharedDraws)
	for i := range list {
		list[i] = s.numbers(in.fallen(i, hold, top).warp)
		for j := range 3 {
			s.mean[j] += list[i][j] / sharedDraws
		}
	}
	for _, e := range list {
		for j := range 3 {
			for k := j; k < 3; k++ {
				c.SetSym(j, k, c.At(j, k)+(e[j]-s.mean[j])*(e[k]-s.mean[k])/(sharedDraws-1))
			}
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(c, true) {
		return s
	}
	var v mat.Dense
	eigen.VectorsTo(&v)
	for k, value := range eigen.Values(nil) {
		sd := math.Sqrt(math.Max(value, 0))
		if sd < leastShared {
			continue
		}
		var root, back [3]float64
		for j := range 3 {
			root[j], back[j] = v.At(j, k)*sd, v.At(j, k)/sd
		}
		s.root, s.back = append(s.root, root), append(s.back, back)
	}
	return s
}

// fallen draws the common errors with the delays of a rolling shutter as part of the warp: what falls
// is as fast as its height tells (m/s, near enough for an error).
func (in *Input) fallen(i int, hold string, top float64) truth {
	t := in.truthOf(in.even, i, hold)
	t.warp = t.delay.warped(t.warp, func(h float64) float64 { return math.Sqrt(2 * gravityNear * math.Abs(h)) }, top)
	return t
}

const gravityNear = 9.8 // m/s2

// numbers are the coefficients of a warp for heights in units of top.
func (s *shared) numbers(w camera.Warp) [3]float64 {
	return [3]float64{w.E[0], w.E[1] * s.top, w.E[2] * s.top * s.top}
}

// point is z of one draw.
func (s *shared) point(w camera.Warp) []float64 {
	e := s.numbers(w)
	z := make([]float64, len(s.back))
	for i, b := range s.back {
		for j := range 3 {
			z[i] += b[j] * (e[j] - s.mean[j])
		}
	}
	return z
}

// warp is y(h) at the mean.
func (s *shared) warp(h float64) float64 { return h + h*s.dot(s.mean, h) }

// slope is dy/dz[i] at h.
func (s *shared) slope(i int, h float64) float64 { return h * s.dot(s.root[i], h) }

// leastStretch keeps a draw far out from turning heights over.
const leastStretch = 0.2

// stretch is dy/dh at h.
func (s *shared) stretch(z []float64, h float64) float64 {
	e := s.mean
	for i, root := range s.root {
		for j := range e {
			e[j] += z[i] * root[j]
		}
	}
	x := h / s.top
	return math.Max(leastStretch, 1+e[0]+x*(2*e[1]+3*x*e[2]))
}

func (s *shared) dot(e [3]float64, h float64) float64 {
	x := h / s.top
	return e[0] + x*(e[1]+x*e[2])
}
