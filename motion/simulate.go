package motion

import (
	"math"
	"math/rand/v2"
)

// move is one step of a forward draw, made from an element of the way back:
// x+ = z + g - K z - b f + R r, with z = F x (and the jerk b where there is a slope).
type move struct {
	from, to float64
	slope    bool
	jump     bool
	still    bool
	g, f     vec3
	K        [9]float64
	R        [6]float64 // lower Cholesky factor of C: hh, vh, vv, ah, av, aa
	jumpC    float64
	jumpL    vec3
}

func newMove(e *element) move {
	m := move{from: e.from, to: e.to, slope: e.slope, jump: e.jump, still: e.still}
	if e.jump {
		m.jumpC, m.jumpL = math.Sqrt(e.jg.C), e.jg.L
		m.g.a, m.f.a = e.jg.C*e.jg.e, e.jg.C*e.jg.k
		m.jumpL = vec3{e.jg.C * e.jg.L.h, e.jg.C * e.jg.L.v, e.jg.C * e.jg.L.a}
		return m
	}
	if e.still {
		return m
	}
	C := &e.gain.C
	m.g, m.f = C.times(e.gain.e), C.times(e.gain.k)
	L := &e.gain.L
	rows := [3]vec3{{C.hh, C.hv, C.ha}, {C.hv, C.vv, C.va}, {C.ha, C.va, C.aa}}
	for i, r := range rows {
		x := L.times(r) // row i of C L, L being symmetric
		m.K[3*i], m.K[3*i+1], m.K[3*i+2] = x.h, x.v, x.a
	}
	m.R = cholesky(C)
	return m
}

// cholesky returns the lower factor (hh, vh, vv, ah, av, aa) of a positive semi-definite matrix.
func cholesky(C *sym3) [6]float64 {
	root := func(x float64) float64 { return math.Sqrt(math.Max(x, 0)) }
	div := func(x, y float64) float64 {
		if y == 0 {
			return 0
		}
		return x / y
	}
	hh := root(C.hh)
	vh, ah := div(C.hv, hh), div(C.ha, hh)
	vv := root(C.vv - vh*vh)
	av := div(C.va-vh*ah, vv)
	return [6]float64{hh, vh, vv, ah, av, root(C.aa - ah*ah - av*av)}
}

// mean returns the expected state after the move, from x, for launch coefficient b.
func (m *move) mean(x vec3, b float64) vec3 {
	if m.jump {
		x.a += m.g.a - b*m.f.a - m.jumpL.dot(x)
		return x
	}
	j := 0.0
	if m.slope {
		j = b
	}
	z := x.coast(m.to-m.from, j)
	if m.still {
		return z
	}
	K := &m.K
	return vec3{
		z.h + m.g.h - b*m.f.h - (K[0]*z.h + K[1]*z.v + K[2]*z.a),
		z.v + m.g.v - b*m.f.v - (K[3]*z.h + K[4]*z.v + K[5]*z.a),
		z.a + m.g.a - b*m.f.a - (K[6]*z.h + K[7]*z.v + K[8]*z.a),
	}
}

// random draws the random part of the move.
func (m *move) random(r *rand.Rand) vec3 {
	switch {
	case m.jump:
		return vec3{a: m.jumpC * r.NormFloat64()}
	case m.still:
		return vec3{}
	}
	a, b, c := r.NormFloat64(), r.NormFloat64(), r.NormFloat64()
	R := &m.R
	return vec3{R[0] * a, R[1]*a + R[2]*b, R[3]*a + R[4]*b + R[5]*c}
}

// launchDraw is one drawn launch: its instant and the way on from there.
type launchDraw struct {
	onset onset
	l     float64 // log-posterior density, for choosing the best
	first []move  // moves before the shared ones, in order of time
	skip  int     // number of shared moves after which its way begins
}

// simulator draws paths for one set of parameters.
type simulator struct {
	p       *problem
	q       *params
	shared  []move // in order of time
	launchs []launchDraw
}

// newSimulator draws n launches (instants of first motion) for the coordinates u and
// prepares the paths. With mean set, the one launch is at the conditional mean instant.
func newSimulator(p *problem, u []float64, n int, r *rand.Rand, mean bool) *simulator {
	m := &simulator{p: p, q: p.params(u)}
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
			k.backTo(s.t[i], i+1)
		}
		k.observe(i)
		prev := math.Inf(-1)
		if i > 0 {
			prev = s.t[i-1]
		}
		for ; next >= 0 && times[next] > prev; next-- {
			own := *k
			own.steps = nil
			own.backTo(times[next], i)
			own.s.settle()
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
	m.p.scan(m.q, func(c int, _ *onset, l float64) { ls[c] = l; sum.add(l) })
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
	if t >= last || (m.q.shape.buildUp && t >= m.q.full) || (m.q.shape.ends && t >= m.q.end) {
		return middle
	}
	return t
}

// pair draws two paths of launch i that mirror each other about their common mean, and
// that mean. With r nil all three are the mean, at the coefficient's most probable value.
func (m *simulator) pair(i int, r *rand.Rand) (a, b, mean *path) {
	d := &m.launchs[i]
	s := m.p.s
	coef := m.coefficient(&d.onset, r)
	w, y, _, _ := m.q.rest(d.onset.k)
	cross := d.onset.to0.L.ha
	if m.q.shape.buildUp {
		cross = d.onset.to0.k.h
	}
	P := d.onset.to0.L.hh + w
	h := (d.onset.to0.e.h + y - cross*coef) / P
	x := vec3{h: h}
	if !m.q.shape.buildUp {
		x.a = coef
	}
	dev := vec3{}
	if r != nil {
		dev.h = r.NormFloat64() / math.Sqrt(P)
	}
	n := len(d.first) + len(m.shared) - d.skip + 1
	mk := func(h0 float64) *path {
		p := &path{t0: d.onset.t, h0: h0, end: math.Inf(1), knots: make([]knot, 0, n)}
		if m.q.shape.ends {
			p.end = m.q.end
		}
		return p
	}
	a, b, mean = mk(h+dev.h), mk(h-dev.h), mk(h)
	put := func(t float64) {
		a.knots = append(a.knots, knot{t, vec3{x.h + dev.h, x.v + dev.v, x.a + dev.a}})
		b.knots = append(b.knots, knot{t, vec3{x.h - dev.h, x.v - dev.v, x.a - dev.a}})
		mean.knots = append(mean.knots, knot{t, x})
	}
	put(d.onset.t)
	step := func(mv *move) {
		plus := mv.mean(vec3{x.h + dev.h, x.v + dev.v, x.a + dev.a}, coef)
		x = mv.mean(x, coef)
		dev = vec3{plus.h - x.h, plus.v - x.v, plus.a - x.a}
		if r != nil {
			e := mv.random(r)
			dev = vec3{dev.h + e.h, dev.v + e.v, dev.a + e.a}
		}
		put(mv.to)
	}
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
