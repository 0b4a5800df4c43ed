package motion

import (
	"math"
	"math/rand/v2"
)

// move is one step of a forward draw, made from an element of the way back. With z = F x
// its random part has mean C (e - L z) and covariance C.
type move struct {
	kind     kind
	from, to float64
	g        vec    // C e
	K        [4]vec // rows of C L
	R        factor // of C^-1
	scalar   scalarGain
}

func newMove(e *element) move {
	m := move{kind: e.kind, from: e.from, to: e.to, scalar: e.scalar}
	if e.kind != stretch {
		return m
	}
	m.R = e.gain.R
	m.g = m.R.up(m.R.down(e.gain.e))
	L := &e.gain.L
	h, v := m.R.up(m.R.down(vec{L.hh, L.hv, L.ha, L.hj})), m.R.up(m.R.down(vec{L.hv, L.vv, L.va, L.vj}))
	a, j := m.R.up(m.R.down(vec{L.ha, L.va, L.aa, L.aj})), m.R.up(m.R.down(vec{L.hj, L.vj, L.aj, L.jj}))
	m.K = [4]vec{{h.h, v.h, a.h, j.h}, {h.v, v.v, a.v, j.v}, {h.a, v.a, a.a, j.a}, {h.j, v.j, a.j, j.j}}
	return m
}

// mean returns the expected state after the move, from x.
func (m *move) mean(x vec) vec {
	switch m.kind {
	case jump:
		x.a += m.scalar.mean - m.scalar.L.dot(x)
		return x
	case brake:
		x.a = m.scalar.mean - m.scalar.L.dot(x)
		return x
	case renew:
		x.j = m.scalar.mean - m.scalar.L.dot(x)
		return x
	}
	z := x.coast(m.to - m.from)
	if m.kind == still {
		return z
	}
	K := &m.K
	return vec{z.h + m.g.h - K[0].dot(z), z.v + m.g.v - K[1].dot(z), z.a + m.g.a - K[2].dot(z), z.j + m.g.j - K[3].dot(z)}
}

// random draws the random part of the move.
func (m *move) random(r *rand.Rand) vec {
	switch m.kind {
	case jump, brake:
		return vec{a: m.scalar.sd * r.NormFloat64()}
	case renew:
		return vec{j: m.scalar.sd * r.NormFloat64()}
	case still:
		return vec{}
	}
	return m.R.up(vec{r.NormFloat64(), r.NormFloat64(), r.NormFloat64(), r.NormFloat64()})
}

// launchDraw is one drawn launch: its instant and the way on from there.
type launchDraw struct {
	onset onset
	first []move // moves before the shared ones, in order of time
	skip  int    // number of shared moves after which its way begins
}

// simulator draws paths for one set of parameters.
type simulator struct {
	p       *problem
	q       *params
	u       []float64
	shared  []move // in order of time
	launchs []launchDraw
}

// newSimulator draws n launches (instants of first motion) for the coordinates u and
// prepares the paths. With mean set, the one launch is at the conditional mean instant.
func newSimulator(p *problem, u []float64, n int, r *rand.Rand, mean bool) *simulator {
	m := &simulator{p: p, q: p.params(u), u: u}
	times := m.launchTimes(n, r, mean)
	if times == nil {
		return nil
	}
	s := p.s
	k := newTrack(m.q, true)
	next := len(times) - 1 // times ascend; go back from the last
	m.launchs = make([]launchDraw, len(times))
	marks := make([]int, len(times))
	for i := len(s.t) - 1; i >= 0 && next >= 0; i-- {
		if i < len(s.t)-1 {
			k.backTo(s.t[i])
		}
		k.observe(i)
		prev := math.Inf(-1)
		if i > 0 {
			prev = s.t[i-1]
		}
		for ; next >= 0 && times[next] > prev; next-- {
			own := *k
			own.steps = nil
			own.backTo(times[next])
			d := &m.launchs[next]
			d.onset = own.start(i)
			for e := len(own.steps) - 1; e >= 0; e-- {
				d.first = append(d.first, newMove(&own.steps[e]))
			}
			marks[next] = len(k.steps)
		}
	}
	total := len(k.steps)
	m.shared = make([]move, total)
	for i := range k.steps {
		m.shared[total-1-i] = newMove(&k.steps[i])
	}
	for i := range m.launchs {
		m.launchs[i].skip = total - marks[i]
	}
	return m
}

// launchTimes draws instants of first motion, ascending.
func (m *simulator) launchTimes(n int, r *rand.Rand, mean bool) []float64 {
	g := m.p.grid
	ls := make([]float64, g.n)
	for i := range ls {
		ls[i] = math.Inf(-1)
	}
	var sum logSum
	m.p.scan(m.q, m.u, func(c int, _ *onset, l float64) { ls[c] = l; sum.add(l) })
	if !sum.any {
		return nil
	}
	var cum, first float64
	cdf := make([]float64, g.n)
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
func (m *simulator) pair(i int, r *rand.Rand) (a, b, mean *path) {
	d := &m.launchs[i]
	s := m.p.s
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
	n := len(d.first) + len(m.shared) - d.skip + 1
	mk := func(h0 float64) *path {
		p := &path{t0: d.onset.t, h0: h0, end: math.Inf(1), knots: make([]knot, 0, n)}
		if m.q.shape.end != lasts {
			p.end = m.q.end
		}
		return p
	}
	a, b, mean = mk(x.h+dev.h), mk(x.h-dev.h), mk(x.h)
	put := func(t float64) {
		a.knots = append(a.knots, knot{t, x.plus(dev)})
		b.knots = append(b.knots, knot{t, x.minus(dev)})
		mean.knots = append(mean.knots, knot{t, x})
	}
	step := func(mv *move) {
		plus := mv.mean(x.plus(dev))
		x = mv.mean(x)
		dev = plus.minus(x)
		if r != nil {
			dev = dev.plus(mv.random(r))
		}
		put(mv.to)
	}
	put(o.t)
	for j := range d.first {
		step(&d.first[j])
	}
	for j := d.skip; j < len(m.shared); j++ {
		step(&m.shared[j])
	}
	a.toSI(s)
	b.toSI(s)
	mean.toSI(s)
	return a, b, mean
}

// coefficient draws the launch coefficient: a scale of the prior, then a normal cut at zero.
func (m *simulator) coefficient(o *onset, r *rand.Rand) float64 {
	_, parts := m.q.logWeight(o)
	var sum logSum
	for _, l := range parts {
		sum.add(l)
	}
	pick, x := 0, 0.5
	if r != nil {
		x = r.Float64()
	}
	for i, l := range parts {
		pick = i
		if x -= math.Exp(l - sum.value()); x < 0 {
			break
		}
	}
	scale := m.p.s.accel * coefficientScales[pick]
	if m.q.shape.buildUp {
		scale /= o.fullIn
	}
	v := o.m + 1/(scale*scale)
	mu, sd := o.n/v, 1/math.Sqrt(v)
	if r == nil {
		return math.Max(mu, 0)
	}
	return positiveNormal(mu, sd, r)
}

// positiveNormal draws from a normal distribution cut at zero: by rejection where most of
// it is positive, else from an exponential envelope (Robert, Statistics and Computing
// 5:121, 1995, from memory).
func positiveNormal(mu, sd float64, r *rand.Rand) float64 {
	low := -mu / sd
	if low < 0.5 {
		for {
			if z := r.NormFloat64(); z >= low {
				return mu + sd*z
			}
		}
	}
	rate := 0.5 * (low + math.Sqrt(low*low+4))
	for {
		z := low + r.ExpFloat64()/rate
		if math.Log(1-r.Float64()) <= -0.5*(z-rate)*(z-rate) {
			return mu + sd*z
		}
	}
}
