package motion

import (
	"math"
	"math/rand/v2"
	"slices"

	"padside/noise"
)

// signature is how a frame takes part in the errors that many frames have in common (package
// noise), the same numbers for all: the two amplitudes of the error between pixels, and what all
// frames at rest err by together against those in motion. Of the last one a frame has all or
// nothing: those not plainly off rest have it. It does not begin and end with the instant of first
// motion that is looked for: a matched picture, and more so one that a codec copies, keeps its
// error until it has moved by a good part of a pixel. Last come value and slope of the correlated
// error, which change on the way; see drifting.
type signature [5]float64

// Places in a signature.
const (
	restShare  = 2 // the error at rest
	driftShare = 3 // the correlated error, and then its slope
)

func (p signature) dot(q signature) float64 {
	return p[0]*q[0] + p[1]*q[1] + p[2]*q[2] + p[3]*q[3] + p[4]*q[4]
}

// plus returns p + f q.
func (p signature) plus(q signature, f float64) signature {
	return signature{p[0] + f*q[0], p[1] + f*q[1], p[2] + f*q[2], p[3] + f*q[3], p[4] + f*q[4]}
}

// shares is what a series knows of them.
type shares struct {
	count      int         // how many errors frames may have a part in; 0: none
	signatures []signature // of each frame; nil where no frame has a part in any
	prior      signature   // precision of each error, scaled; 1 of one that no frame has. That of the correlated one belongs to a hypothesis

	atRest []mixed // over the frames before each index
	drift  *drifting
}

// weighShares takes the shares over. Errors of no uncertainty are none.
func (s *series) weighShares(obs []Observation, phaseU, restU float64) {
	s.prior = signature{1, 1, 1, 1, 1}
	doubted := slices.ContainsFunc(obs, func(o Observation) bool { return o.DoubtU > 0 })
	if !(phaseU > 0 || restU > 0 || doubted) {
		return
	}
	precision := func(u float64) float64 { return s.unitH * s.unitH / (u * u) }
	if phaseU > 0 {
		s.prior[0], s.prior[1] = precision(phaseU), precision(phaseU)
	}
	if restU > 0 {
		s.prior[restShare] = precision(restU)
	}
	if s.count = driftShare; doubted {
		s.count = driftShare + 1
	}
	s.atRest = make([]mixed, len(obs)+1)
	for i := range s.atRest {
		s.atRest[i].n = driftShare
	}
	still := restPhase(obs[:s.move])
	for i, o := range obs {
		var p signature
		if i < s.move {
			o.Phase = still
		}
		if phaseU > 0 {
			p[0], p[1] = o.Phase[0], o.Phase[1]
		}
		if restU > 0 && i < s.move {
			p[restShare] = 1
		}
		s.atRest[i+1] = s.atRest[i]
		s.atRest[i+1].add(s.w[i], s.y[i], p, vec{h: 1})
		p[driftShare] = o.DoubtU / s.unitH // only in flight
		s.signatures = append(s.signatures, p)
	}
}

// restPhase is the phase that frames at rest have.
func restPhase(rest []Observation) noise.Phase {
	var all []noise.Phase
	for _, o := range rest {
		all = append(all, o.Phase)
	}
	return noise.MeanPhase(all)
}

func (s *series) phased() bool { return s.signatures != nil }

func (s *series) signature(i int) signature {
	if s.signatures == nil {
		return signature{}
	}
	return s.signatures[i]
}

// mixed is what a likelihood of the state z says about the signature errors q too:
// -q'Lq/2 + e'q - sum of q[i] x[i]'z.
type mixed struct {
	on bool // anything is said
	n  int  // of the errors
	x  [5]vec
	L  [5][5]float64 // the lower half
	e  signature
}

// add takes in a frame of precision w, height y and shares p that sees the state through f.
func (m *mixed) add(w, y float64, p signature, f vec) {
	m.on = true
	for i, q := range p {
		if q == 0 {
			continue
		}
		u := w * q
		m.x[i] = m.x[i].plus(vec{u * f.h, u * f.v, u * f.a, u * f.j})
		m.e[i] += u * y
		for j := range i + 1 {
			m.L[i][j] += u * p[j]
		}
	}
}

func (m *mixed) addScaled(f float64, o *mixed) {
	m.on = m.on || o.on
	for i := range o.n {
		x := &o.x[i]
		m.x[i] = m.x[i].plus(vec{f * x.h, f * x.v, f * x.a, f * x.j})
		m.e[i] += f * o.e[i]
		for j := range i + 1 {
			m.L[i][j] += f * o.L[i][j]
		}
	}
}

// jerks, accels and speeds are the entries of x of one component.
func (m *mixed) jerks() signature {
	return signature{m.x[0].j, m.x[1].j, m.x[2].j, m.x[3].j, m.x[4].j}
}
func (m *mixed) accels() signature {
	return signature{m.x[0].a, m.x[1].a, m.x[2].a, m.x[3].a, m.x[4].a}
}
func (m *mixed) speeds() signature {
	return signature{m.x[0].v, m.x[1].v, m.x[2].v, m.x[3].v, m.x[4].v}
}

func (m *mixed) backShift(d float64) {
	for i := range m.n {
		m.x[i] = m.x[i].backShift(d)
	}
}

// reduce is ahead.reduce for the signature errors: of variance C and mean m, k being C times the row of L of the component that steps, r that component's
// entries of x.
func (m *mixed) reduce(C, mean float64, k vec, r signature) {
	for i := range m.n {
		q, x := r[i], &m.x[i]
		*x = vec{x.h - q*k.h, x.v - q*k.v, x.a - q*k.a, x.j - q*k.j}
		m.e[i] -= mean * q
		for j := range i + 1 {
			m.L[i][j] -= C * q * r[j]
		}
	}
}

// errorGain is how one signature error hangs together with what is drawn before it, the rest level h, the launch coefficient b and the signature errors
// of smaller index: normal, of mean (e - h H - b B - before·q)/L and precision L.
type errorGain struct {
	L, e, h, b float64
	before     signature
}

// shareGains holds them all, up to n; the last is integrated out first.
type shareGains struct {
	n  int
	of [5]errorGain
}

// shareGains integrates the signature errors out at first motion, frames before i being at rest; f
// is the factor on precisions, unit the state there, off its level, of a launch coefficient of one.
func (p *params) shareGains(a *ahead, i int, f float64, unit vec) shareGains {
	m, prior := a.phase, p.priorShares()
	m.addScaled(f, &p.series.atRest[i])
	g := shareGains{n: m.n}
	for k := range g.n {
		b := a.phase.x[k].dot(unit)
		g.of[k] = errorGain{L: m.L[k][k] + prior[k], e: m.e[k], h: m.x[k].h, b: b}
		for j := range k {
			g.of[k].before[j] = m.L[k][j]
		}
	}
	for k := g.n - 1; k > 0; k-- {
		from := &g.of[k]
		for j := range k {
			r := from.before[j] / from.L
			o := &g.of[j]
			o.L, o.e, o.h, o.b = o.L-r*from.before[j], o.e-r*from.e, o.h-r*from.h, o.b-r*from.b
			for l := range j {
				o.before[l] -= r * from.before[l]
			}
		}
	}
	return g
}

// draw returns the mean of the signature errors given level and coefficient, and the deviation from it that belongs to the deviation dh of the
// level, with a random part of its own unless r is nil. Without any all are zero.
func (g *shareGains) draw(h, b, dh float64, r *rand.Rand) (mean, dev signature) {
	for i := range g.n {
		a := &g.of[i]
		if a.L == 0 {
			continue
		}
		mean[i] = (a.e - a.h*h - a.b*b - a.before.dot(mean)) / a.L
		dev[i] = (-a.h*dh - a.before.dot(dev)) / a.L
		if r != nil {
			dev[i] += r.NormFloat64() / math.Sqrt(a.L)
		}
	}
	return mean, dev
}

// doubtsFolded returns the observations with the correlated error taken into their uncertainty: for
// what asks whether single frames lie off others, whatever the reason.
func doubtsFolded(obs []Observation) []Observation {
	out := slices.Clone(obs)
	for i := range out {
		out[i].U, out[i].DoubtU = math.Hypot(out[i].U, out[i].DoubtU), 0
	}
	return out
}

// phasesFolded returns the observations with the error between pixels taken into their uncertainty.
func phasesFolded(obs []Observation, u float64) []Observation {
	if u == 0 {
		return obs
	}
	out := append([]Observation(nil), obs...)
	for i := range out {
		out[i].U = math.Hypot(out[i].U, out[i].Phase.Size(u))
	}
	return out
}
