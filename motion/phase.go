package motion

import (
	"math"
	"math/rand/v2"
)

// Phase is where between pixels a point lies: cosine and sine of 2 pi times its place along the flight, in pixels,
// each times what motion blur leaves of them.
//
// An edge that is sharper than a pixel is not drawn alike at each place between two: matching it errs by a function of that place of
// period one pixel, q0 cos + q1 sin to first order, some hundredths of a pixel (the bias that interpolation and aliasing leave; Schreier,
// Braasch & Sutton, Opt. Eng. 39:2915, 2000, from memory). All frames at rest share one such error, whatever their scatter
// says, and those just after first motion have others. The two amplitudes q are unknowns of the launch, estimated with the
// rest.
type Phase [2]float64

// signature is how a frame takes part in the errors that many frames have in common, the same numbers for all: the two amplitudes of
// the error between pixels, and what all frames at rest err by together against those in motion. Of the last one a frame has all or nothing: those
// not plainly off rest have it. It does not begin and end with the instant of first motion that is looked for: a matched picture, and more so one that a codec
// copies, keeps its error until it has moved by a good part of a pixel.
type signature [3]float64

// restShare is the place of the error at rest.
const restShare = 2

func (p signature) dot(q signature) float64 { return p[0]*q[0] + p[1]*q[1] + p[2]*q[2] }

// plus returns p + f q.
func (p signature) plus(q signature, f float64) signature {
	return signature{p[0] + f*q[0], p[1] + f*q[1], p[2] + f*q[2]}
}

// phases is what a series knows of them.
type phases struct {
	signatures []signature // of each frame; nil where no frame has a part in any
	prior      signature   // precision of each error, scaled; 1 of one that no frame has

	atRest []mixed // over the frames before each index
}

// weighPhases takes the shares over. Errors of no uncertainty are none.
func (s *series) weighPhases(obs []Observation, phaseU, restU float64) {
	s.prior = signature{1, 1, 1}
	if !(phaseU > 0 || restU > 0) {
		return
	}
	precision := func(u float64) float64 { return s.unitH * s.unitH / (u * u) }
	if phaseU > 0 {
		s.prior[0], s.prior[1] = precision(phaseU), precision(phaseU)
	}
	if restU > 0 {
		s.prior[restShare] = precision(restU)
	}
	s.atRest = make([]mixed, len(obs)+1)
	for i, o := range obs {
		var p signature
		if phaseU > 0 {
			p[0], p[1] = o.Phase[0], o.Phase[1]
		}
		if restU > 0 && i < s.move {
			p[restShare] = 1
		}
		s.signatures = append(s.signatures, p)
		s.atRest[i+1] = s.atRest[i]
		s.atRest[i+1].add(s.w[i], s.y[i], p, vec{h: 1})
	}
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
	on bool
	x  [3]vec
	L  [3][3]float64 // the lower half
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
	for i := range m.x {
		x := &o.x[i]
		m.x[i] = m.x[i].plus(vec{f * x.h, f * x.v, f * x.a, f * x.j})
		m.e[i] += f * o.e[i]
		for j := range i + 1 {
			m.L[i][j] += f * o.L[i][j]
		}
	}
}

// jerks, accels and speeds are the entries of x of one component.
func (m *mixed) jerks() signature  { return signature{m.x[0].j, m.x[1].j, m.x[2].j} }
func (m *mixed) accels() signature { return signature{m.x[0].a, m.x[1].a, m.x[2].a} }
func (m *mixed) speeds() signature { return signature{m.x[0].v, m.x[1].v, m.x[2].v} }

func (m *mixed) backShift(d float64) {
	for i := range m.x {
		m.x[i] = m.x[i].backShift(d)
	}
}

// reduce is ahead.reduce for the signature errors: of variance C and mean m, k being C times the row of L of the component that steps, r that component's
// entries of x.
func (m *mixed) reduce(C, mean float64, k vec, r signature) {
	for i, q := range r {
		x := &m.x[i]
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

// phaseGain holds them all; the last is integrated out first.
type phaseGain [3]errorGain

// amplitudes integrates the signature errors out at first motion, frames before i being at rest; f is the factor on precisions, unit the
// state there, off its level, of a launch coefficient of one.
func (s *series) amplitudes(a *ahead, i int, f float64, unit vec) phaseGain {
	m := a.phase
	m.addScaled(f, &s.atRest[i])
	var g phaseGain
	for k := range g {
		b := a.phase.x[k].dot(unit)
		g[k] = errorGain{L: m.L[k][k] + s.prior[k], e: m.e[k], h: m.x[k].h, b: b}
		for j := range k {
			g[k].before[j] = m.L[k][j]
		}
	}
	for k := len(g) - 1; k > 0; k-- {
		for j := range k {
			r := g[k].before[j] / g[k].L
			o := &g[j]
			o.L, o.e, o.h, o.b = o.L-r*g[k].before[j], o.e-r*g[k].e, o.h-r*g[k].h, o.b-r*g[k].b
			for l := range j {
				o.before[l] -= r * g[k].before[l]
			}
		}
	}
	return g
}

// draw returns the mean of the signature errors given level and coefficient, and the deviation from it that belongs to the deviation dh of the
// level, with a random part of its own unless r is nil. Without any all are zero.
func (g *phaseGain) draw(h, b, dh float64, r *rand.Rand) (mean, dev signature) {
	for i := range g {
		a := &g[i]
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

// phasesFolded returns the observations with the error between pixels taken into their uncertainty.
func phasesFolded(obs []Observation, u float64) []Observation {
	if u == 0 {
		return obs
	}
	out := append([]Observation(nil), obs...)
	for i := range out {
		p := out[i].Phase
		out[i].U = math.Hypot(out[i].U, u*math.Hypot(p[0], p[1]))
	}
	return out
}
