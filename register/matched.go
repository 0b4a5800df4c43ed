package register

import (
	"math"

	"padside/footage"
)

// Pixels is how many pixels are compared.
func (m *Matcher) Pixels() int { return len(m.t) }

// Bound is the standard uncertainty, px, of the worse coordinate in a picture of that much white
// noise, levels (the Cramer-Rao bound of the linear model).
func (m *Matcher) Bound(noise float64) float64 {
	return math.Sqrt(max(m.inv[2*MaxTerms+2], m.inv[3*MaxTerms+3])) * noise
}

// Direct takes one step from a whole-pixel place, at, of as many pixels as the reference has, which
// needs no interpolation: exact enough where the step is small, and many times faster than
// register. The match's X and Y are the step, px. It reports false where the step is longer than
// most px, or brightness is reversed.
func (m *Matcher) Direct(s *Scratch, l *footage.Luma, at Area, most float64) (Match, bool) {
	s.F = Cut(l, at, s.F)
	for k := range s.F {
		s.F[k] -= m.mean
	}
	q := m.parameters(s.F)
	if q[0] <= 0 {
		return Match{}, false
	}
	x, y := -q[2]/q[0], -q[3]/q[0]
	if math.Hypot(x, y) > most {
		return Match{}, false
	}
	got := m.judge(s, Warp{X: x, Y: y, A: 1}, &q)
	return got, got.OK
}

// Residuals is the picture less the reference, in the reference's gain and offset as matched by
// got, at each pixel compared, levels; nil where the window does not hold them, or the background
// leaves no texture.
func (m *Matcher) Residuals(s *Scratch, got Match) []float32 {
	if s.Back != nil && m.beta != nil {
		if m = m.compose(s, got.Warp); m == nil {
			return nil
		}
	}
	if !m.sample(s, got.Warp) {
		return nil
	}
	out := make([]float32, len(m.t))
	g, o := float32(got.G), float32(got.O)
	for j, f := range s.F {
		out[j] = (f+m.mean-o)/g - m.t[j] - m.mean
	}
	return out
}

// Middle is the middle of the texture that tells of movement along (ux, uy), px from the
// reference's centre: there errors of size and turn do not move the place, to first order. It is
// false where there is none.
func (m *Matcher) Middle(ux, uy float64) (u, v float64, ok bool) {
	var sum, su, sv float64
	for k, w := range m.weight {
		g := float64(m.reg[2][k])*ux + float64(m.reg[3][k])*uy
		g *= g * float64(w)
		sum += g
		su += g * float64(m.u[k])
		sv += g * float64(m.v[k])
	}
	if sum == 0 {
		return 0, 0, false
	}
	return su / sum, sv / sum, true
}
