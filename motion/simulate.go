package motion

import (
	"math"
	"math/rand/v2"
	"slices"

	"padside/noise"
)

// kind of move.
type kind uint8

const (
	coast     kind = iota // a time of constant jerk
	jerkGrow              // the jerk grows by a factor
	jerkStep              // the jerk changes by a random step
	jerkSet               // it is drawn afresh
	accelStep             // the acceleration changes by a random step
	accelSet              // it is drawn afresh
	speedSet              // the speed is drawn afresh
	driftKick             // the correlated error changes by a random step
	driftGo               // it goes on by a step of its process
)

// move is one step of a forward draw, noted on the way back.
type move struct {
	kind kind
	d    float64 // length of a coast, or the factor
	gain gain
	of   *driftStep  // of the last two kinds
	way  noise.State // of a driftKick
}

// step moves a mean state x and a deviation dev from it by m, z standard normal; q and dq are the errors that frames
// share and their deviation.
func (m *move) step(x, dev *vec, q, dq *signature, z float64) {
	if m.kind == coast {
		*x, *dev = x.coast(m.d), dev.coast(m.d)
		return
	}
	if m.kind == jerkGrow {
		x.j, dev.j = m.d*x.j, m.d*dev.j
		return
	}
	if m.kind == driftGo {
		m.of.carry(q)
		m.of.carry(dq)
		return
	}
	g := &m.gain
	a, b := g.mean-g.L.dot(*x)-g.phase.dot(*q), math.Sqrt(g.C)*z-g.L.dot(*dev)-g.phase.dot(*dq)
	switch m.kind {
	case jerkStep:
		x.j, dev.j = x.j+a, dev.j+b
	case jerkSet:
		x.j, dev.j = a, b
	case accelStep:
		x.a, dev.a = x.a+a, dev.a+b
	case accelSet:
		x.a, dev.a = a, b
	case speedSet:
		x.v, dev.v = a, b
	case driftKick:
		q.kick(m.way, a)
		dq.kick(m.way, b)
	}
}

// random says whether a move takes a random number.
func (m *move) random() bool { return m.kind != coast && m.kind != jerkGrow && m.kind != driftGo }

// launchDraw is one drawn launch: its instant and the way on from there.
type launchDraw struct {
	onset onset
	first []move // moves before the shared ones, the last first
	then  int    // number of shared moves that follow
}

// simulator draws paths for one set of parameters after another, reusing its memory.
type simulator struct {
	p       *problem
	q       *params
	shared  []move // the last first
	launchs []launchDraw

	density, cdf []float64 // over the grid of first motion
	times        []float64
	a, b, mean   path
}

// prepare draws n launches (instants of first motion) at a point whose densities are known for each
// cell, and readies the paths. With r nil the one launch is at the conditional mean instant. It
// returns false where the coordinates are impossible.
func (m *simulator) prepare(p *problem, at *particle, n int, r *rand.Rand) bool {
	m.p, m.q = p, p.under(at.u, at.hypothesis)
	times := m.launchTimes(at.cells, n, r)
	if times == nil {
		return false
	}
	s := p.s
	m.shared = m.shared[:0]
	k := newTrack(m.q, &m.shared)
	next := len(times) - 1 // times ascend; go back from the last
	m.launchs = slices.Grow(m.launchs[:0], len(times))[:len(times)]
	K := len(s.knots) - 1
	for i := K; next >= 0; i-- {
		from := math.Inf(-1)
		if i >= 0 {
			from = s.knots[i]
		}
		for ; i < K && next >= 0 && times[next] > from; next-- {
			d := &m.launchs[next]
			d.first, d.then = d.first[:0], len(m.shared)
			own := k
			own.moves = &d.first
			own.backTo(times[next], max(i, 0))
			d.onset = own.start(s.frameAt(times[next], i))
		}
		if i >= 0 && next >= 0 {
			k.toKnot(i)
		}
	}
	return true
}

// launchTimes draws instants of first motion, ascending: a cell in proportion to its density, and a place in it by the straight line
// that has the density's slope there.
func (m *simulator) launchTimes(cells []float64, n int, r *rand.Rand) []float64 {
	g := m.p.grid
	total := logTotal(cells)
	if math.IsInf(total, -1) {
		return nil
	}
	if m.q.shape.underWay() {
		return slices.Repeat([]float64{m.p.s.t[0]}, n)
	}
	m.density, m.cdf = m.density[:0], m.cdf[:0]
	var cum, first float64
	for i, l := range cells {
		w := 0.0
		if l > total-40 { // neither -Inf nor NaN
			w = math.Exp(l - total)
		}
		cum += w
		first += w * g.middle(i)
		m.density, m.cdf = append(m.density, w), append(m.cdf, cum)
	}
	if r == nil {
		return []float64{first / cum}
	}
	times := m.times[:0]
	i := 0
	for j := range n {
		x := (float64(j) + r.Float64()) / float64(n) * cum // stratified
		for i < g.n-1 && m.cdf[i] < x {
			i++
		}
		t := g.lo + (float64(i)+tilted(m.slope(i), r.Float64()))*g.d
		times = append(times, m.allowed(t, g.middle(i)))
	}
	m.times = times
	slices.Sort(times) // the jitter within a cell may swap neighbours
	return times
}

// slope is the relative change of the density over cell i, between -2 and 2.
func (m *simulator) slope(i int) float64 {
	w := m.density
	if i == 0 || i == len(w)-1 || w[i] == 0 {
		return 0
	}
	return math.Max(-2, math.Min(2, (w[i+1]-w[i-1])/(2*w[i])))
}

// tilted turns x, even between 0 and 1, into a number of density 1 + b (x - 1/2) there.
func tilted(b, x float64) float64 {
	if math.Abs(b) < 1e-6 {
		return x
	}
	// (1 - b/2) y + b/2 y^2 = x
	h := 1 - b/2
	return 2 * x / (h + math.Sqrt(math.Max(0, h*h+2*b*x)))
}

// allowed keeps a jittered instant before the events that must follow it.
func (m *simulator) allowed(t, middle float64) float64 {
	last := m.p.s.t[len(m.p.s.t)-1]
	if t >= last || (m.q.shape.buildUp() && t >= m.q.full) || (m.q.shape.end != lasts && t >= m.q.end) {
		return middle
	}
	return t
}

// pair draws two paths of launch i that mirror each other about their common mean, and
// that mean. With r nil all three are the mean, at the coefficient's most probable value.
// They are valid until the next call.
func (m *simulator) pair(i int, r *rand.Rand) (a, b, mean *path) {
	d := &m.launchs[i]
	o := &d.onset
	coef := m.coefficient(o, r)
	x, dev := vec{h: o.level - o.slope*coef}, vec{}
	if r != nil {
		dev.h = r.NormFloat64() / math.Sqrt(o.precision)
	}
	s := m.p.s
	q, dq := o.phase.draw(x.h, coef, dev.h, r)
	rest, dev0 := x.h, dev.h
	x = x.plus(m.q.thrown().times(coef))
	for i, p := range [...]*path{&m.a, &m.b, &m.mean} {
		p.begin(s, o.t)
		p.underWay, p.jolted = m.q.shape.underWay(), m.q.jolt > 0
		p.phase = q.plus(dq, [...]float64{1, -1, 0}[i])
		if m.q.shape.end != lasts {
			p.end = s.seconds(m.q.end)
		}
	}
	t := o.t
	put := func() {
		m.a.put(s, t, x.plus(dev))
		m.b.put(s, t, x.minus(dev))
		m.mean.put(s, t, x)
	}
	walk := func(moves []move) {
		for j := len(moves) - 1; j >= 0; j-- {
			mv := &moves[j]
			if mv.kind == coast {
				put()
				t += mv.d
			}
			z := 0.0
			if r != nil && mv.random() {
				z = r.NormFloat64()
			}
			mv.step(&x, &dev, &q, &dq, z)
		}
	}
	walk(d.first)
	walk(m.shared[:d.then])
	put()
	for i, p := range [...]*path{&m.a, &m.b, &m.mean} {
		p.h0 = s.level + s.unitH*(rest+[...]float64{1, -1, 0}[i]*dev0)
	}
	return &m.a, &m.b, &m.mean
}
