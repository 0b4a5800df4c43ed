package register

import "math"

// Matcher finds where, to a small fraction of a pixel, a picture shows what its reference shows.
//
// It is the inverse-compositional Gauss-Newton method (Baker & Matthews, Int. J. Comput.
// Vision 56:221, 2004): the picture f, interpolated at the warped places of the reference
// T, is written as
//
//	f(W(u)) = g T(u) + o + g (Tx dx + Ty dy + Ts ds + Tr dr) + noise
//
// with gain g, offset o and a small step of shift, size and turn, all by weighted linear least
// squares at once; the inverse of the step is put before the warp, until it is
// small. Gain and offset free is the same as matching zero-mean normalised pictures. Because
// the regressors come from the averaged reference alone, their matrix is made once, and noise
// in f cannot bias the step in first order.
type Matcher struct {
	u, v                 []float32 // px from the reference's centre
	block                []int32   // which block of neighbours the pixel belongs to
	blocks               int
	t                    []float32                    // reference, less mean
	mean                 float32                      // of the reference, taken off the picture too
	beta, slopeX, slopeY []float32                    // background's share, its slopes; nil: none
	weight               []float32                    // relative, about 1 at its largest
	reg                  [MaxTerms][]float32          // regressors: T, 1, Tx, Ty, Ts, Tr
	pull                 [MaxTerms][]float32          // rows of R' W: parameters = N^-1 R' W f
	inv                  [MaxTerms * MaxTerms]float64 // N^-1
	n                    int                          // regressors in use, 4 or 6
	rough                bool                         // no covariance from blocks is wanted
	proj                 [2][]float32                 // rows of N^-1 R' W for the shift; not where rough
	share                []float64                    // per block, x and y
	work                 []float64
}

// MaxTerms is how many regressors a matcher has at most: gain, offset, shift along x and y, size,
// turn. With 4 it matches the place alone.
const MaxTerms = 6

// newMatcher has room for n pixels, of a reference that lets the background through or not.
func newMatcher(n int, transparent bool) *Matcher {
	few := make([]float32, n*(4+MaxTerms))
	next := func() []float32 {
		out := few[:n:n]
		few = few[n:]
		return out
	}
	m := &Matcher{u: next(), v: next(), t: next(), weight: next(), block: make([]int32, n)}
	for i := range m.reg {
		m.reg[i] = next()
	}
	if transparent {
		few = make([]float32, 3*n)
		m.beta, m.slopeX, m.slopeY = next(), next(), next()
	}
	return m
}

// Match is what a matcher found.
type Match struct {
	Warp
	G, O    float64       // gain and offset, levels: picture = G reference + O
	Quality float64       // weighted zero-mean normalised correlation
	Noise   float64       // standard deviation of the residual, weighted, in grey levels
	Cov     [2][2]float64 // of (X, Y), px², from blocks of residuals
	White   [2][2]float64 // the same if residuals were independent
	USize   float64       // standard uncertainty of the size; 0 if not estimated
	OK      bool
}

// solve makes the equations from the regressors. It reports whether they can be told apart.
func (m *Matcher) solve(n int) bool {
	m.n = n
	for i := range n {
		m.pull[i] = grow(m.pull[i], len(m.t))
		p, r := m.pull[i], m.reg[i][:len(m.weight)]
		for k, w := range m.weight {
			p[k] = w * r[k]
		}
	}
	var a [MaxTerms * MaxTerms]float64
	for i := range n {
		for j := range i + 1 {
			sum := dot(m.pull[i], m.reg[j])
			a[i*MaxTerms+j], a[j*MaxTerms+i] = sum, sum
		}
	}
	if !Invert(&a, n) {
		return false
	}
	m.inv = a
	return true
}

// parameters solves for gain, offset and step from a picture sampled at the reference's pixels.
func (m *Matcher) parameters(f []float32) (q [MaxTerms]float64) {
	for j := range m.n {
		b := dot(m.pull[j], f)
		for i := range m.n {
			q[i] += m.inv[i*MaxTerms+j] * b
		}
	}
	return q
}

// sample interpolates the picture at the warped places. It reports whether the window holds them.
func (m *Matcher) sample(s *Scratch, w Warp) bool {
	sp := s.Window
	s.F = grow(s.F, len(m.u))
	x0, y0, a, b := float32(w.X), float32(w.Y), float32(w.A), float32(w.B)
	maxX, maxY := float32(sp.W-4), float32(sp.H-4)
	for k, u := range m.u {
		v := m.v[k]
		x, y := x0+a*u-b*v, y0+b*u+a*v
		if !(x >= 2 && y >= 2 && x < maxX && y < maxY) {
			return false
		}
		s.F[k] = sp.At(x, y) - m.mean
	}
	return true
}

const (
	mostSteps      = 20
	backgroundStep = 0.1   // px: so far the background behind the patch is taken as the same
	smallStep      = 0.002 // px: the next step would be at least ten times smaller
	// longestStep is how far one step may go, px; a longer one is cut, since the reference is only
	// straight near by.
	longestStep = 1.0
)

// Register refines the warp w at which the window of s shows the reference; both are in px of the
// window. The match is not OK where the window ends, the texture is gone, or no step settles.
func (m *Matcher) Register(s *Scratch, w Warp) Match {
	plain, moved := m, math.Inf(1)
	for range mostSteps {
		if plain.beta != nil && s.Back != nil && moved > backgroundStep {
			if m = plain.compose(s, w); m == nil {
				return Match{Warp: w}
			}
			moved = 0
		}
		if !m.sample(s, w) {
			return Match{Warp: w}
		}
		q := m.parameters(s.F)
		if !(q[0] > 0) { // brightness reversed: not the vehicle
			return Match{Warp: w}
		}
		d := Warp{A: 1}
		d.X, d.Y = q[2]/q[0], q[3]/q[0]
		if m.n == MaxTerms {
			d.A, d.B = 1+q[4]/q[0], q[5]/q[0]
		}
		step := math.Hypot(d.X, d.Y)
		if step > longestStep {
			d.X, d.Y, d.A, d.B = d.X*longestStep/step, d.Y*longestStep/step, 1, 0
		}
		w = w.after(d)
		moved += step
		if step < smallStep {
			if m != plain && !m.rough {
				m.project()
			}
			return m.judge(s, w, &q)
		}
	}
	return Match{Warp: w}
}

// judge computes residuals of the last sample and from them quality and covariance.
func (m *Matcher) judge(s *Scratch, w Warp, q *[MaxTerms]float64) Match {
	out := Match{Warp: w, G: q[0], O: q[1] + float64(m.mean)*(1-q[0]), OK: true}
	s.r = grow(s.r, len(m.t))
	m.residual(s.r, s.F, q)
	weight := m.pull[1]
	sw, sf := dot(m.pull[1], m.reg[1]), dot(weight, s.F)
	if sw == 0 {
		return Match{Warp: w}
	}
	sff, srr := squares(weight, s.F), squares(weight, s.r)
	total := sff - sf*sf/sw
	if total > 0 {
		out.Quality = math.Sqrt(max(0, 1-srr/total))
	}
	out.Noise = math.Sqrt(srr / sw)
	m.spread(s, &out)
	return out
}

// residual is f less what the parameters q make of the regressors.
func (m *Matcher) residual(r, f []float32, q *[MaxTerms]float64) {
	n := len(f)
	r0, r1, r2, r3 := m.reg[0][:n], m.reg[1][:n], m.reg[2][:n], m.reg[3][:n]
	c0, c1, c2, c3 := float32(q[0]), float32(q[1]), float32(q[2]), float32(q[3])
	r = r[:n]
	for k, v := range f {
		r[k] = v - c0*r0[k] - c1*r1[k] - c2*r2[k] - c3*r3[k]
	}
	if m.n < MaxTerms {
		return
	}
	r4, r5 := m.reg[4][:n], m.reg[5][:n]
	c4, c5 := float32(q[4]), float32(q[5])
	for k := range r {
		r[k] -= c4*r4[k] + c5*r5[k]
	}
}
