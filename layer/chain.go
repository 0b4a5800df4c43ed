package layer

import (
	"math"
	"slices"
)

// How places hang together. A vehicle goes on as it went, but for its acceleration: from places at
// two instants it is expected at a third on the straight line through them, give or take what
// those places err by and what an acceleration of the usual size does in that time. How large that
// is varies within a flight by factors (a launch, a burnout), so that what lies off the line
// follows a Cauchy distribution. Frames in which the vehicle is at none of the candidates cost a
// fixed probability each. The posterior over all ways through the candidates is summed forward and
// backward over pairs of successive places; pairs that are far less likely than the best of their
// frame are left out.

// node is a candidate in a frame of the band.
type node struct {
	candidate
	frame int
	t     float64
}

// pair is two successive places: the state of the chain.
type pair struct {
	a, b     *node
	forward  float64 // ln of the summed weight of all ways from the start to here
	backward float64 // the same from here to any end
	chance   float64 // probability that the vehicle went through both
}

// course is the prior of the motion.
type course struct {
	b            *Band
	acceleration float64 // cells/s^2, the usual size
	ahead        float64 // cells, of the vehicle's front before the traced point
}

const (
	mostSkipped = 8    // frames in a row without a place
	skipCost    = 3.0  // ln, for each: the vehicle is seldom hidden
	endCost     = 1.5  // ln, for each frame after the last place in which it should be seen
	mostEnd     = 24.0 // ln, of those together
	turnCost    = 5.0  // ln, for going back,
	sharpTurn   = 20.0 // from having gone forward
	leastTurn   = 2.0  // cells
	keptPairs   = 48   // of a frame
	keptWithin  = 40.0 // ln
	acrossU     = 0.5  // cells
	aside       = 0.02 // by how much of its way a vehicle may leave the line, each step, beside that
)

// step is ln of the density of going on from a and b to c.
func (m *course) step(a, b, c *node) float64 {
	w, u := b.t-a.t, c.t-b.t
	if u <= 0 {
		return math.Inf(-1)
	}
	ratio := 0.0
	if w > 0 {
		ratio = u / w
	}
	bend := m.acceleration * (u*u + u*w) / 2
	spread := 1 + (1+ratio)*(1+ratio) + ratio*ratio
	along := math.Sqrt(c.u*c.u + (1+ratio)*(1+ratio)*b.u*b.u + ratio*ratio*a.u*a.u + bend*bend)
	across := acrossU*math.Sqrt(spread) + aside*math.Abs(c.row-b.row)
	out := cauchy(c.row-b.row-ratio*(b.row-a.row), along) + cauchy(c.col-b.col-ratio*(b.col-a.col), across)
	if b.row-c.row > leastTurn {
		out -= turnCost
		if b.row-a.row > leastTurn {
			out -= sharpTurn - turnCost
		}
	}
	return out - skipCost*float64(c.frame-b.frame-1)
}

// cauchy is ln of pi times the density of the Cauchy distribution of scale s at x.
func cauchy(x, s float64) float64 { return -math.Log(s) - math.Log1p(x*x/(s*s)) }

// end is ln of the weight of ending with a pair: the vehicle has left the band if it went on
// evenly.
func (m *course) end(p *pair) float64 {
	w := p.b.t - p.a.t
	if w <= 0 {
		return -mostEnd
	}
	vr, vc := (p.b.row-p.a.row)/w, (p.b.col-p.a.col)/w
	cost := 0.0
	for f := p.b.frame + 1; f < len(m.b.Frames) && cost < mostEnd; f++ {
		u := m.b.Frames[f].T - p.b.t
		if m.inView(p.b.row+vr*u, p.b.col+vc*u) {
			cost += endCost
		}
	}
	return -min(cost, mostEnd)
}

// inView tells whether the vehicle is seen to its front at a place.
func (m *course) inView(row, col float64) bool {
	return row+m.ahead < float64(m.b.Rows-1) && row > -m.ahead && col > 0 && col < float64(m.b.Cols-1)
}

// key names a pair.
type key struct{ a, b *node }

// pass runs forward and backward from the start's pair over the nodes of each frame of the band. It
// returns the pairs of each frame after the start's with their chances.
func (m *course) pass(start *pair, nodes [][]*node) [][]*pair {
	all := m.forward(start, nodes)
	total := math.Inf(-1)
	for i := len(all) - 1; i >= 0; i-- {
		byFirst := map[*node][]*pair{}
		for j := i + 1; j < min(len(all), i+2+mostSkipped); j++ {
			for _, q := range all[j] {
				byFirst[q.a] = append(byFirst[q.a], q)
			}
		}
		for _, p := range all[i] {
			p.backward = m.end(p)
			total = logAdd(total, p.forward+p.backward)
			for _, q := range byFirst[p.b] {
				p.backward = logAdd(p.backward, m.step(p.a, p.b, q.b)+q.b.worth+q.backward)
			}
		}
	}
	for _, pairs := range all {
		for _, p := range pairs {
			p.chance = math.Exp(p.forward + p.backward - total)
		}
	}
	all[start.b.frame] = nil
	return all
}

// forward makes the pairs of each frame, from the start's on.
func (m *course) forward(start *pair, nodes [][]*node) [][]*pair {
	all, pending := make([][]*pair, len(nodes)), make([]map[key]*pair, len(nodes))
	all[start.b.frame] = []*pair{start}
	for i := start.b.frame; i < len(nodes); i++ {
		if pending[i] != nil {
			all[i], pending[i] = kept(pending[i]), nil
		}
		for _, p := range all[i] {
			for j := i + 1; j < min(len(nodes), i+2+mostSkipped); j++ {
				if pending[j] == nil {
					pending[j] = map[key]*pair{}
				}
				for _, c := range nodes[j] {
					k := key{p.b, c}
					q := pending[j][k]
					if q == nil {
						q = &pair{a: p.b, b: c, forward: math.Inf(-1)}
						pending[j][k] = q
					}
					q.forward = logAdd(q.forward, p.forward+m.step(p.a, p.b, c)+c.worth)
				}
			}
		}
	}
	return all
}

// kept are the pairs of a frame that are not far less likely than the best, in an order that does
// not depend on the map's.
func kept(pending map[key]*pair) []*pair {
	var out []*pair
	for _, p := range pending {
		out = append(out, p)
	}
	slices.SortFunc(out, func(a, b *pair) int {
		for _, v := range []int{-compare(a.forward, b.forward), compare(a.b.row, b.b.row), compare(a.b.col, b.b.col), a.a.frame - b.a.frame, compare(a.a.row, b.a.row)} {
			if v != 0 {
				return v
			}
		}
		return compare(a.a.col, b.a.col)
	})
	for i, p := range out {
		if i >= keptPairs || p.forward < out[0].forward-keptWithin {
			return out[:i]
		}
	}
	return out
}

// logAdd is ln(exp a + exp b).
func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(a, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}
