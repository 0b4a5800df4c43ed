package motion

import (
	"math"
	"math/rand/v2"
	"sync"

	"padside/noise"
)

// The correlated error of the heights (package noise) is one more component of the state, or two
// where it is smooth: value and slope, which go on from knot to knot by the steps of their process
// and take no part in the motion. Frame i sees the value times what the trace states of it, and
// frames from one knot to the next see one value: there are 80 knots and more in flight, and the
// quickest process lasts for a thirtieth of it. Going back from the last frame, a step is
// integrated out like one of the jerk. At first motion the error has its stationary prior, for
// frames at rest have none of it. Size, length and kind are a hypothesis of noise.Hypotheses: one
// more, discrete, coordinate of the posterior.

// drifting is what a series knows of the correlated error.
type drifting struct {
	list  []noise.Hypothesis
	steps []driftSteps // of each hypothesis, worked out when asked for
	knots noise.Course // the knots
}

// driftSteps are the steps of the process under one hypothesis.
type driftSteps struct {
	once sync.Once
	to   []driftStep // to each knot from the one before
}

// driftStep is one step: what it multiplies the state by, and the two directions in which it adds
// a standard normal number each; see noise.Step.
type driftStep struct {
	noise.Step
	kicks [2]noise.State
	rough bool
}

// newDrifting returns nil where no correlated error is stated.
func newDrifting(s *series) *drifting {
	if s.count <= driftShare {
		return nil
	}
	d := &drifting{list: noise.Hypotheses(true)}
	d.steps = make([]driftSteps, len(d.list))
	way, top, i := make([]float64, len(s.knots)), math.Inf(-1), 0
	for k, t := range s.knots {
		for ; i < len(s.t) && s.t[i] <= t; i++ {
			top = math.Max(top, s.y[i])
		}
		way[k] = top
		if i < len(s.t) && i > 0 && s.y[i] > top { // between two frames
			way[k] += (s.y[i] - top) * (t - s.t[i-1]) / (s.t[i] - s.t[i-1])
		}
	}
	d.knots = noise.Course{T: s.knots, Way: way}
	for d.knots.Moving < len(s.knots)-1 && s.knots[d.knots.Moving+1] < s.t[s.move] {
		d.knots.Moving++
	}
	return d
}

// under returns the steps under a hypothesis.
func (d *drifting) under(hypothesis int) *driftSteps {
	s, h := &d.steps[hypothesis], d.list[hypothesis]
	s.once.Do(func() {
		along := d.knots.Along(h)
		s.to = make([]driftStep, len(along))
		for k := range along {
			step := driftStep{Step: h.Step(along[k] - along[max(k-1, 0)]), rough: h.Rough}
			a, b := step.Kicks()
			step.kicks = [2]noise.State{{h.Size * a[0], h.Size * a[1]}, {h.Size * b[0], h.Size * b[1]}}
			s.to[k] = step
		}
	})
	return s
}

// countShares is how many errors the frames share under the hypothesis.
func (p *params) countShares() int {
	if p.drift == nil {
		return p.series.count
	}
	if p.series.drift.list[p.hypothesis].Rough {
		return driftShare + 1
	}
	return driftShare + 2
}

// priorShares is the precision of each shared error, of the correlated one at first motion.
func (p *params) priorShares() signature {
	prior := p.series.prior
	if p.drift != nil {
		size := p.series.drift.list[p.hypothesis].Size
		prior[driftShare], prior[driftShare+1] = 1/(size*size), 1/(size*size)
	}
	return prior
}

// logOdds is ln of the prior probability of the hypothesis.
func (p *params) logOdds() float64 {
	if p.drift == nil {
		return 0
	}
	return math.Log(p.series.drift.list[p.hypothesis].Prior)
}

// driftOn takes the likelihood back over a step of the correlated error.
func (k *track) driftOn(step *driftStep) {
	for i, way := range step.kicks {
		if i == 1 && step.rough {
			break
		}
		g := k.note(driftKick)
		if g != nil {
			(*k.moves)[len(*k.moves)-1].way = way
		}
		k.s.kickDrift(way, g)
	}
	k.s.phase.backDrift(&step.Step)
	if k.moves != nil {
		*k.moves = append(*k.moves, move{kind: driftGo, of: step})
	}
}

// kickDrift takes the function back over a step of the correlated error by a standard normal number
// in the direction way, and fills g in unless that is nil.
func (s *ahead) kickDrift(way noise.State, g *gain) {
	m := &s.phase
	const a, b = driftShare, driftShare + 1
	x := vec{
		way[0]*m.x[a].h + way[1]*m.x[b].h, way[0]*m.x[a].v + way[1]*m.x[b].v,
		way[0]*m.x[a].a + way[1]*m.x[b].a, way[0]*m.x[a].j + way[1]*m.x[b].j,
	}
	var q signature
	for j := range driftShare {
		q[j] = way[0]*m.L[a][j] + way[1]*m.L[b][j]
	}
	q[a], q[b] = way[0]*m.L[a][a]+way[1]*m.L[b][a], way[0]*m.L[b][a]+way[1]*m.L[b][b]
	f := 1 + way[0]*q[a] + way[1]*q[b]
	s.reduce(1/f, way[0]*m.e[a]+way[1]*m.e[b], x, q, g)
	s.gather(f)
}

// backDrift replaces the correlated error after a step by what it was before, times the step's
// factors.
func (m *mixed) backDrift(s *noise.Step) {
	const a, b = driftShare, driftShare + 1
	back := func(p, q *float64) {
		v := s.Back(noise.State{*p, *q})
		*p, *q = v[0], v[1]
	}
	x, y := &m.x[a], &m.x[b]
	back(&x.h, &y.h)
	back(&x.v, &y.v)
	back(&x.a, &y.a)
	back(&x.j, &y.j)
	back(&m.e[a], &m.e[b])
	for j := range driftShare {
		back(&m.L[a][j], &m.L[b][j])
	}
	first, second := s.Back(noise.State{m.L[a][a], m.L[b][a]}), s.Back(noise.State{m.L[b][a], m.L[b][b]})
	top, low := s.Back(noise.State{first[0], second[0]}), s.Back(noise.State{first[1], second[1]})
	m.L[a][a], m.L[b][a], m.L[b][b] = top[0], low[0], low[1]
}

// carry moves the correlated error on by a step without its kicks.
func (d *driftStep) carry(q *signature) {
	v := d.On(noise.State{q[driftShare], q[driftShare+1]})
	q[driftShare], q[driftShare+1] = v[0], v[1]
}

// kick adds f times a direction to the correlated error.
func (p *signature) kick(way noise.State, f float64) {
	p[driftShare] += f * way[0]
	p[driftShare+1] += f * way[1]
}

// priorPicks is the share of points that are put under hypotheses by their prior odds: what the
// modes make improbable may be probable elsewhere.
const priorPicks = 0.15

// weighHypotheses finds how probable each hypothesis about the correlated error is at the highest
// of some modes, and climbs to modes anew under the most probable one. The odds so found only say
// with which hypotheses points of the posterior are tried; what they are worth is in the points'
// weights.
func (p *problem) weighHypotheses(found []bump, e effort, each func(n int, f func(i int))) []bump {
	d := p.s.drift
	if d == nil || len(found) == 0 {
		return found
	}
	odds := p.oddsAt(found[0].u, each)
	best := 0
	for i := range odds {
		if odds[i] > odds[best] {
			best = i
		}
	}
	if best != p.hypothesis {
		p.hypothesis = best
		var us [][]float64
		for _, b := range found {
			us = append(us, b.u)
		}
		if again := modes(p, us, e); len(again) > 0 {
			found = again
			odds = p.oddsAt(found[0].u, each)
		}
	}
	p.odds = odds
	for i := range odds {
		odds[i] = (1-priorPicks)*odds[i] + priorPicks*d.list[i].Prior
	}
	return found
}

// oddsAt is the probability of each hypothesis at one point.
func (p *problem) oddsAt(u []float64, each func(n int, f func(i int))) []float64 {
	l := make([]float64, len(p.s.drift.list))
	each(len(l), func(i int) { l[i], _ = p.densities(u, i) })
	var sum logSum
	for _, x := range l {
		sum.add(x)
	}
	for i := range l {
		l[i] = math.Exp(l[i] - sum.value())
	}
	return l
}

// pickHypothesis draws the hypothesis for a point, with ln of the odds of that.
func (p *problem) pickHypothesis(r *rand.Rand) (pick int, logPick float64) {
	if p.odds == nil {
		return p.hypothesis, 0
	}
	x := r.Float64()
	for i, o := range p.odds {
		if pick = i; x < o {
			break
		}
		x -= o
	}
	return pick, math.Log(p.odds[pick])
}
