package motion

import (
	"math"
	"slices"
	"sync"
)

// negligible is how far below the best cell (in the logarithm) a cell counts for nothing, and coarse every which cell is
// looked at first.
const (
	negligible = 15.0
	coarse     = 4
)

// scanner evaluates the cells of a grid of first motion for one set of parameters. It keeps its memory from scan to scan.
type scanner struct {
	p    *problem
	q    *params
	base float64 // ln of what does not depend on first motion

	stretches []stretch // those the grid reaches into, the last first
	density   []float64 // ln of the posterior density of each cell; NaN where not looked at
	fine      int       // the stretch in which the last cell was, as cells are looked at from the last to the first
	broken    bool      // digits ran out somewhere
}

// stretch is the time between a knot (-1: before the first) and the next, at which the track stands.
type stretch struct {
	knot int
	from float64
	at   track
}

var scanners = sync.Pool{New: func() any { return new(scanner) }}

// scan returns ln of the posterior density in the middle of each cell of the grid, -Inf where it is negligible, and whether
// digits ran out. Every coarse-th cell is looked at first, then those beside the ones that count. The densities are valid until the
// scanner is handed back by release.
func (p *problem) scan(q *params, u []float64) *scanner {
	c := scanners.Get().(*scanner)
	s := p.s
	c.p, c.q, c.base = p, q, p.logPrior(u)+s.noiseLevel(1/(q.noise*q.noise))+q.logOdds()
	c.stretches, c.fine, c.broken = c.stretches[:0], 0, false
	c.density = c.density[:0]
	for range p.grid.n {
		c.density = append(c.density, math.NaN())
	}
	best := c.look()
	c.fine = 0
	last := p.grid.n - 1
	for hi := last; hi >= 0; hi -= coarse {
		lo := max(hi-coarse, -1)
		near := c.density[hi]
		if lo >= 0 {
			near = math.Max(near, c.density[lo])
		}
		for i := hi - 1; i > lo; i-- {
			if near > best-negligible {
				c.evaluate(i)
			} else {
				c.density[i] = math.Inf(-1)
			}
		}
	}
	return c
}

func (c *scanner) release() { scanners.Put(c) }

// look evaluates every coarse-th cell, from the last back until only negligible ones are left, and returns the best.
func (c *scanner) look() float64 {
	k := newTrack(c.q, nil)
	s, g := c.p.s, c.p.grid
	cell := g.n - 1
	best, below := math.Inf(-1), 0 // below: cells in a row that are far below the best
	for i := len(s.knots) - 1; cell >= 0; i-- {
		if i < len(s.knots)-1 {
			from := math.Inf(-1)
			if i >= 0 {
				from = s.knots[i]
			}
			if g.hi() > from {
				c.stretches = append(c.stretches, stretch{i, from, k})
			}
			for ; cell >= 0 && g.middle(cell) > from && below < 2; cell -= coarse {
				l := c.evaluate(cell)
				switch {
				case l > best-negligible:
					best, below = math.Max(best, l), 0
				case !math.IsInf(best, -1): // the latest cells may be impossible
					below++
				}
			}
		}
		if i < 0 || below == 2 {
			break
		}
		k.toKnot(i)
	}
	for ; cell >= 0; cell -= coarse {
		c.density[cell] = math.Inf(-1)
	}
	return best
}

// evaluate returns ln of the density of a cell and keeps it. Cells must come from the last to the first.
func (c *scanner) evaluate(cell int) float64 {
	c.density[cell] = math.Inf(-1)
	t := c.p.grid.middle(cell)
	for c.fine < len(c.stretches)-1 && t <= c.stretches[c.fine].from {
		c.fine++
	}
	st := &c.stretches[c.fine]
	if t > st.at.t || t <= st.from {
		return math.Inf(-1)
	}
	l := c.p.logOnsetPrior(c.q, t)
	if math.IsInf(l, -1) {
		return l
	}
	o := st.at.at(t, max(st.knot, 0), c.p.s.frameAt(t, st.knot))
	w, _ := c.q.logWeight(&o)
	l += w + c.base
	// o.m is the precision of the launch coefficient: negative only where digits ran out
	c.broken = c.broken || math.IsNaN(l) || o.m < 0
	c.density[cell] = l
	return l
}

// frameAt returns the first frame at or after t, which lies between a knot and the next.
func (s *series) frameAt(t float64, knot int) int {
	if knot < 0 {
		return 0
	}
	b := &s.blocks[knot]
	i := b.to
	for i > b.from && s.t[i-1] >= t {
		i--
	}
	return i
}

// logDensity is the logarithm of the posterior density of the coordinates u, first motion,
// launch coefficient, rest level and path integrated over (not normalised).
func (p *problem) logDensity(u []float64) float64 {
	q := p.params(u)
	if !p.valid(q, u) {
		return math.Inf(-1)
	}
	c := p.scan(q, u)
	defer c.release()
	return c.total()
}

// densities returns logDensity under a hypothesis about the correlated error, and what it is the
// sum of, by cells of the grid.
func (p *problem) densities(u []float64, hypothesis int) (float64, []float64) {
	q := p.under(u, hypothesis)
	if !p.valid(q, u) {
		return math.Inf(-1), nil
	}
	c := p.scan(q, u)
	defer c.release()
	return c.total(), slices.Clone(c.density)
}

// total is ln of the integral over the grid.
func (c *scanner) total() float64 {
	if c.broken {
		return math.Inf(-1)
	}
	return logTotal(c.density) + math.Log(c.p.grid.d)
}

// onsetMoments returns mean and standard deviation of first motion given the coordinates.
func (p *problem) onsetMoments(u []float64) (mean, sd float64) {
	c := p.scan(p.params(u), u)
	defer c.release()
	best := math.Inf(-1)
	for _, l := range c.density {
		best = math.Max(best, l)
	}
	var s0, s1, s2 float64
	for i, l := range c.density {
		w, t := math.Exp(l-best), p.grid.middle(i)
		s0, s1, s2 = s0+w, s1+w*t, s2+w*t*t
	}
	mean = s1 / s0
	return mean, math.Sqrt(math.Max(0, s2/s0-mean*mean) + p.grid.d*p.grid.d/12)
}
