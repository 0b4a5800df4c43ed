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

func (p Phase) dot(q Phase) float64 { return p[0]*q[0] + p[1]*q[1] }

// plus returns p + f q.
func (p Phase) plus(q Phase, f float64) Phase { return Phase{p[0] + f*q[0], p[1] + f*q[1]} }

// phases is what a series knows of them.
type phases struct {
	phaseOf []Phase // of each frame; nil where no frame has one
	phaseU  float64 // m, standard uncertainty of either amplitude
	phaseW  float64 // its precision, scaled

	atRest []mixed // over the frames before each index
}

// weighPhases takes the phases over.
func (s *series) weighPhases(obs []Observation, u float64) {
	s.phaseU = u
	if !(u > 0) {
		return
	}
	s.phaseW = s.unitH * s.unitH / (u * u)
	s.atRest = make([]mixed, len(obs)+1)
	for i, o := range obs {
		s.phaseOf = append(s.phaseOf, o.Phase)
		s.atRest[i+1] = s.atRest[i]
		s.atRest[i+1].add(s.w[i], s.y[i], o.Phase, vec{h: 1})
	}
}

func (s *series) phased() bool { return s.phaseOf != nil }

func (s *series) phase(i int) Phase {
	if s.phaseOf == nil {
		return Phase{}
	}
	return s.phaseOf[i]
}

// mixed is what a likelihood of the state z says about the amplitudes q too:
// -q'Lq/2 + e'q - sum of q[i] x[i]'z.
type mixed struct {
	on bool
	x  [2]vec
	L  [3]float64 // of q0 q0, q0 q1, q1 q1
	e  Phase
}

// add takes in a frame of precision w, height y and phase p that sees the state through f.
func (m *mixed) add(w, y float64, p Phase, f vec) {
	m.on = true
	for i, q := range p {
		u := w * q
		m.x[i] = m.x[i].plus(vec{u * f.h, u * f.v, u * f.a, u * f.j})
		m.e[i] += u * y
	}
	m.L[0] += w * p[0] * p[0]
	m.L[1] += w * p[0] * p[1]
	m.L[2] += w * p[1] * p[1]
}

func (m *mixed) addScaled(f float64, o *mixed) {
	m.on = m.on || o.on
	for i := range m.x {
		x := &o.x[i]
		m.x[i] = m.x[i].plus(vec{f * x.h, f * x.v, f * x.a, f * x.j})
		m.e[i] += f * o.e[i]
	}
	for i := range m.L {
		m.L[i] += f * o.L[i]
	}
}

func (m *mixed) backShift(d float64) {
	m.x[0], m.x[1] = m.x[0].backShift(d), m.x[1].backShift(d)
}

// reduce is ahead.reduce for the amplitudes: of variance C and mean m, k being C times the row of L of the component that steps, r that component's
// entries of x.
func (m *mixed) reduce(C, mean float64, k vec, r Phase) {
	for i, q := range r {
		x := &m.x[i]
		*x = vec{x.h - q*k.h, x.v - q*k.v, x.a - q*k.a, x.j - q*k.j}
		m.e[i] -= mean * q
	}
	m.L[0] -= C * r[0] * r[0]
	m.L[1] -= C * r[0] * r[1]
	m.L[2] -= C * r[1] * r[1]
}

// amplitudeGain is how one amplitude hangs together with what is drawn before it, the rest level h, the launch coefficient b and (the second
// one) the first amplitude: normal, of mean (e - h H - b B - first q0)/L and precision L.
type amplitudeGain struct{ L, e, h, b, first float64 }

// phaseGain holds the second amplitude, which is integrated out first, and the first.
type phaseGain [2]amplitudeGain

// amplitudes integrates the amplitudes out at first motion, frames before i being at rest; f is the factor on precisions.
func (s *series) amplitudes(a *ahead, i int, f float64, buildUp bool) phaseGain {
	m := a.phase
	m.addScaled(f, &s.atRest[i])
	// the error that the frames at rest share, integrated out: a step of rank one
	w, y, p := f*s.sumW[i], f*s.sumY[i], Phase{f * s.atRest[i].x[0].h, f * s.atRest[i].x[1].h}
	k := s.restV / (1 + w*s.restV)
	for j, q := range p {
		m.x[j].h -= k * w * q
		m.e[j] -= k * y * q
	}
	m.L[0] -= k * p[0] * p[0]
	m.L[1] -= k * p[0] * p[1]
	m.L[2] -= k * p[1] * p[1]
	b := Phase{m.x[0].a, m.x[1].a}
	if buildUp {
		b = Phase{m.x[0].j, m.x[1].j}
	}
	second := amplitudeGain{m.L[2] + s.phaseW, m.e[1], m.x[1].h, b[1], m.L[1]}
	r := second.first / second.L
	first := amplitudeGain{L: m.L[0] + s.phaseW - r*second.first, e: m.e[0] - r*second.e, h: m.x[0].h - r*second.h, b: b[0] - r*second.b}
	return phaseGain{second, first}
}

// draw returns the mean of both amplitudes given level and coefficient, and the deviation from it that belongs to the deviation dh of the
// level, with a random part of its own unless r is nil. Without phases both are zero.
func (g *phaseGain) draw(h, b, dh float64, r *rand.Rand) (mean, dev Phase) {
	for i, a := range [...]*amplitudeGain{1: &g[0], 0: &g[1]} {
		if a.L == 0 {
			continue
		}
		mean[i] = (a.e - a.h*h - a.b*b - a.first*mean[0]) / a.L
		dev[i] = (-a.h*dh - a.first*dev[0]) / a.L
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
		out[i].U = math.Hypot(out[i].U, u*math.Sqrt(p.dot(p)))
	}
	return out
}
