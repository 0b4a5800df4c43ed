package motion

import (
	"math"
	"math/rand/v2"
	"slices"
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
)

// move is one step of a forward draw, noted on the way back.
type move struct {
	kind kind
	d    float64 // length of a coast, or the factor
	sd   float64 // else: of the random part
	gain gain
}

// step moves a mean state x and a deviation dev from it by m, z standard normal; q and dq are the amplitudes of
// the error between pixels and their deviation.
func (m *move) step(x, dev *vec, q, dq Phase, z float64) {
	if m.kind == coast {
		*x, *dev = x.coast(m.d), dev.coast(m.d)
		return
	}
	if m.kind == jerkGrow {
		x.j, dev.j = m.d*x.j, m.d*dev.j
		return
	}
	g := &m.gain
	a, b := g.mean-g.L.dot(*x)-g.phase.dot(q), m.sd*z-g.L.dot(*dev)-g.phase.dot(dq)
	switch m.kind {
	case jerkStep:
		x.j, dev.j = x.j+a, dev.j+b
	case jerkSet:
		x.j, dev.j = a, b
	case accelStep:
		x.a, dev.a = x.a+a, dev.a+b
	case accelSet:
		x.a, dev.a = a, b
	}
}

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
	u       []float64
	shared  []move // the last first
	launchs []launchDraw

	density, cdf []float64 // over the grid of first motion
	a, b, mean   path
}

// prepare draws n launches (instants of first motion) for the coordinates u and
// readies the paths. With mean set, the one launch is at the conditional mean instant. It
// returns false where the coordinates are impossible.
func (m *simulator) prepare(p *problem, u []float64, n int, r *rand.Rand, mean bool) bool {
	m.p, m.q, m.u = p, p.params(u), u
	times := m.launchTimes(n, r, mean)
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

// launchTimes draws instants of first motion, ascending.
func (m *simulator) launchTimes(n int, r *rand.Rand, mean bool) []float64 {
	g := m.p.grid
	ls := m.density[:0]
	for range g.n {
		ls = append(ls, math.Inf(-1))
	}
	m.density = ls
	var sum logSum
	m.p.scan(m.q, m.u, func(c int, _ *onset, l float64) { ls[c] = l; sum.add(l) })
	if !sum.any {
		return nil
	}
	var cum, first float64
	m.cdf = slices.Grow(m.cdf[:0], g.n)[:g.n]
	cdf := m.cdf
	for i, l := range ls {
		w := math.Exp(l - sum.value())
		cum += w
		cdf[i] = cum
		first += w * g.middle(i)
	}
	if mean {
		return []float64{first}
	}
	times := make([]float64, n)
	c := 0
	for i := range times {
		x := (float64(i) + r.Float64()) / float64(n) * cum // stratified
		for c < g.n-1 && cdf[c] < x {
			c++
		}
		t := g.lo + (float64(c)+r.Float64())*g.d
		times[i] = m.allowed(t, g.middle(c))
	}
	for i := 1; i < n; i++ { // the jitter within a cell may swap neighbours
		for j := i; j > 0 && times[j] < times[j-1]; j-- {
			times[j], times[j-1] = times[j-1], times[j]
		}
	}
	return times
}

// allowed keeps a jittered instant before the events that must follow it.
func (m *simulator) allowed(t, middle float64) float64 {
	last := m.p.s.t[len(m.p.s.t)-1]
	if t >= last || (m.q.shape.buildUp && t >= m.q.full) || (m.q.shape.end != lasts && t >= m.q.end) {
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
	if m.q.shape.buildUp {
		x.j = coef
	} else {
		x.a = coef
	}
	if r != nil {
		dev.h = r.NormFloat64() / math.Sqrt(o.precision)
	}
	s := m.p.s
	q, dq := o.phase.draw(x.h, coef, dev.h, r)
	for i, p := range [...]*path{&m.a, &m.b, &m.mean} {
		p.begin(s, o.t)
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
			if r != nil && mv.kind > jerkGrow {
				z = r.NormFloat64()
			}
			mv.step(&x, &dev, q, dq, z)
		}
	}
	walk(d.first)
	walk(m.shared[:d.then])
	put()
	return &m.a, &m.b, &m.mean
}
