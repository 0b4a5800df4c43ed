package motion

import "math"

// The motion changes its acceleration and jerk in small random steps at knots, and has constant
// jerk between them. Where frames are sparse there are several knots from one frame to the
// next, so that draws wander between frames too; where frames are dense a knot stands for
// several of them, whose sums are formed once for all.
const (
	fewestKnots = 80  // in the stretch that moves
	mostKnots   = 120 // in it, about
)

// block is what the frames from a knot on, before the next knot, say about the state just after
// the knot: their likelihood is -x'Lx/2 + e'x for unit noise level, but for a constant.
type block struct {
	from, to int // frames
	L        sym
	e        vec
	phase    mixed
	lone     bool // one frame, at the knot itself
}

// layKnots places the knots, from the first frame on; until a few frames after the first plainly off rest no knot stands for two frames.
func (s *series) layKnots() {
	n := len(s.t)
	pieces := func(d float64) int { return max(1, int(d/s.span*fewestKnots+0.5)) }
	between := func(a, b float64) { // from a on, b left out
		m := pieces(b - a)
		for j := range m {
			s.knots = append(s.knots, a+(b-a)*float64(j)/float64(m))
		}
	}
	apart := s.span / mostKnots
	dense := s.move + denseFrames
	last := math.Inf(-1)
	for i := range n - 1 {
		if i > dense && s.t[i]-last < apart && s.t[n-1]-s.t[i] > apart {
			continue
		}
		last = s.t[i]
		if i+1 <= dense || s.t[i+1]-s.t[i] > apart {
			between(s.t[i], s.t[i+1])
		} else {
			s.knots = append(s.knots, s.t[i])
		}
	}
	s.knots = append(s.knots, s.t[n-1])
	s.fillBlocks()
}

// denseFrames is how many frames after the first plainly off rest keep a knot each.
const denseFrames = 10

func (s *series) fillBlocks() {
	K := len(s.knots)
	s.blocks = make([]block, K)
	i := 0
	for k := range s.blocks {
		b := &s.blocks[k]
		b.from, b.phase.n = i, s.count
		for i < len(s.t) && (k == K-1 || s.t[i] < s.knots[k+1]) {
			b.add(s.t[i]-s.knots[k], s.y[i], s.w[i], s.signature(i))
			i++
		}
		b.to = i
		b.lone = b.to == b.from+1 && s.t[b.from] == s.knots[k]
	}
}

// add takes in a frame at time d after the knot, height y, precision w, shares p.
func (b *block) add(d, y, w float64, p signature) {
	f := vec{1, d, d * d / 2, d * d * d / 6}
	b.L.addScaled(w, &sym{1, f.v, f.a, f.j, f.v * f.v, f.v * f.a, f.v * f.j, f.a * f.a, f.a * f.j, f.j * f.j})
	b.e = b.e.plus(vec{w * y, w * y * f.v, w * y * f.a, w * y * f.j})
	if p != (signature{}) {
		b.phase.add(w, y, p, f)
	}
}

// observe takes in the frames of a block, the function standing just after its knot; f is the
// factor on their precision.
func (s *ahead) observe(b *block, f float64) {
	if b.from == b.to {
		return
	}
	if b.phase.on {
		s.phase.addScaled(f, &b.phase)
	}
	if b.lone {
		s.L.hh += f * b.L.hh
		s.e.h += f * b.e.h
		return
	}
	s.L.addScaled(f, &b.L)
	s.e.h += f * b.e.h
	s.e.v += f * b.e.v
	s.e.a += f * b.e.a
	s.e.j += f * b.e.j
}

// observeOne takes in frame i, the function standing at it; f is the factor on its precision.
func (s *ahead) observeOne(of *series, i int, f float64) {
	w := f * of.w[i]
	s.L.hh += w
	s.e.h += w * of.y[i]
	if p := of.signature(i); p != (signature{}) {
		s.phase.add(w, of.y[i], p, vec{h: 1})
	}
}
