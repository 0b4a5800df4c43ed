package register

import (
	"math"
)

// spread works out the covariance of the shift from the residuals. Neighbours may share their error
// (compression, a background that shows at the edge), so sums over blocks of neighbours are
// squared: V = sum over blocks of (sum p r)² / share, a sandwich estimator. A block's residuals are
// smaller than the noise because the fit followed some of it; share is what is left of white noise,
// so that V is unbiased for that.
func (m *Matcher) spread(s *Scratch, out *Match) {
	g2 := out.G * out.G
	n2 := out.Noise * out.Noise / g2 * float64(len(m.t)) / float64(max(1, len(m.t)-m.n))
	out.White = [2][2]float64{
		{n2 * m.inv[2*MaxTerms+2], n2 * m.inv[2*MaxTerms+3]},
		{n2 * m.inv[3*MaxTerms+2], n2 * m.inv[3*MaxTerms+3]},
	}
	if m.n == MaxTerms {
		out.USize = math.Sqrt(n2 * m.inv[4*MaxTerms+4])
	}
	if m.rough {
		return
	}
	s.sums = grow(s.sums, 2*m.blocks)
	clear(s.sums)
	px, py := m.proj[0], m.proj[1]
	for k, r := range s.r {
		b := 2 * m.block[k]
		s.sums[b] += float64(px[k] * r)
		s.sums[b+1] += float64(py[k] * r)
	}
	var v [3]float64
	for b := range m.blocks {
		if m.share[2*b] == 0 || m.share[2*b+1] == 0 {
			continue
		}
		x, y := s.sums[2*b]/m.share[2*b], s.sums[2*b+1]/m.share[2*b+1]
		v[0] += x * x
		v[1] += x * y
		v[2] += y * y
	}
	out.Cov = [2][2]float64{{v[0] / g2, v[1] / g2}, {v[1] / g2, v[2] / g2}}
}

// leastShare keeps a block that the fit follows almost wholly from being blown up.
const leastShare = 0.05

// project makes the rows of N^-1 R' W that give the shift, and works out, for each block and axis,
// the root of the share of white noise that the fit leaves: p'(1-H)p / p'p over the block, where H
// = R N^-1 R' W is the projection on the regressors.
func (m *Matcher) project() {
	m.share = grow(m.share, 2*m.blocks)
	m.work = grow(m.work, m.blocks*(2*MaxTerms+1))
	norm, rp, pp := m.work[:m.blocks], m.work[m.blocks:m.blocks*(MaxTerms+1)], m.work[m.blocks*(MaxTerms+1):]
	for axis := range m.proj {
		m.proj[axis] = grow(m.proj[axis], len(m.t))
		p := m.proj[axis]
		clear(p)
		for j := range m.n {
			c := float32(m.inv[(2+axis)*MaxTerms+j])
			for k, v := range m.pull[j] {
				p[k] += c * v
			}
		}
		clear(m.work)
		for k, b := range m.block {
			norm[b] += float64(p[k] * p[k])
		}
		for i := range m.n {
			reg, pull := m.reg[i], m.pull[i]
			for k, b := range m.block {
				rp[int(b)*MaxTerms+i] += float64(p[k] * reg[k])
				pp[int(b)*MaxTerms+i] += float64(p[k] * pull[k])
			}
		}
		for b, n := range norm {
			m.share[2*b+axis] = 0
			if n == 0 {
				continue
			}
			var followed float64
			for i := range m.n {
				for j := range m.n {
					followed += rp[b*MaxTerms+i] * m.inv[i*MaxTerms+j] * pp[b*MaxTerms+j]
				}
			}
			m.share[2*b+axis] = math.Sqrt(max(leastShare, 1-followed/n))
		}
	}
}
