package stabilise

import "gonum.org/v1/gonum/mat"

// smoothed is a smooth curve through places of which each is seen at its own time: the natural
// cubic spline g that makes sum (y - g(t))² + penalty times the integral of the squared bend least
// (Reinsch, Numer. Math. 10:177, 1967). It passes a movement of angular frequency w (1/s), sampled
// every step s, by 1/(1 + penalty step w⁴).
type smoothed struct {
	t    []float64 // s, increasing
	chol mat.BandCholesky
	fit  float64 // the penalty
}

// newSmoothed prepares for places at times t, of which there are three or more, all different.
// halved is the angular frequency, 1/s, that is passed by half.
func newSmoothed(t []float64, halved float64) (*smoothed, bool) {
	n := len(t)
	step := (t[n-1] - t[0]) / float64(n-1)
	s := &smoothed{t: t, fit: 1 / (step * halved * halved * halved * halved)}
	// R + penalty Q'Q: R is that of the integral of the squared bend, Q takes second differences.
	a := mat.NewSymBandDense(n-2, min(2, n-3), nil)
	for i := range n - 2 {
		for j := i; j < min(i+3, n-2); j++ {
			var v float64
			switch j - i {
			case 0:
				v = (t[i+2] - t[i]) / 3
			case 1:
				v = (t[j+1] - t[j]) / 6
			}
			p, q := s.row(i), s.row(j)
			for k := j; k < i+3; k++ {
				v += s.fit * p[k-i] * q[k-j]
			}
			a.SetSymBand(i, j, v)
		}
	}
	return s, s.chol.Factorize(a)
}

// row is what second differences take of t[i], t[i+1] and t[i+2].
func (s *smoothed) row(i int) [3]float64 {
	a, b := 1/(s.t[i+1]-s.t[i]), 1/(s.t[i+2]-s.t[i+1])
	return [3]float64{a, -a - b, b}
}

// slopes are the curve's slopes at the times, per s, of places y.
func (s *smoothed) slopes(y []float64) []float64 {
	n := len(y)
	second := mat.NewVecDense(n-2, nil)
	for i := range n - 2 {
		q := s.row(i)
		second.SetVec(i, q[0]*y[i]+q[1]*y[i+1]+q[2]*y[i+2])
	}
	if s.chol.SolveVecTo(second, second) != nil {
		return make([]float64, n)
	}
	bend, g := make([]float64, n), append([]float64(nil), y...) // second derivatives and values at the times
	for i := range n - 2 {
		bend[i+1] = second.AtVec(i)
		for k, q := range s.row(i) {
			g[i+k] -= s.fit * q * bend[i+1]
		}
	}
	out := make([]float64, n)
	for i := range n - 1 {
		h := s.t[i+1] - s.t[i]
		out[i] = (g[i+1]-g[i])/h - h*(2*bend[i]+bend[i+1])/6
	}
	h := s.t[n-1] - s.t[n-2]
	out[n-1] = (g[n-1]-g[n-2])/h + h*(bend[n-2]+2*bend[n-1])/6
	return out
}
