package explain

import (
	"math"

	"padside/camera"
	"padside/flight"
	"padside/noise"
)

// launch is one launch as the problem sees it. Its parameters are first motion (in units of a frame
// interval, after origin), the level at rest (in units of its heights' uncertainty), where they are
// stated the error that frames at rest share and the two amplitudes of that between pixels, and its
// own errors of scale; all but the first two are standard normal beforehand.
type launch struct {
	t, h, u []float64 // of the observations used; u includes the uncertainty of the time
	way     []float64 // m, the greatest height up to each
	phase   []noise.Phase
	doubtU  []float64 // m, what is stated of the correlated error
	frame   []int
	step    float64 // s, typical time between frames
	unit    float64 // m, typical uncertainty of a height
	origin  float64 // s, where first motion is looked for
	level   float64 // m, typical height at rest
	aside   int     // observations left out as outliers
	rest    int     // how many of the observations, the first, are seen at rest
	moving  int     // the first one after first motion, as fitted so far: from it on errors are those of frames in flight
	// How many times their stated uncertainty the observations scatter each by itself, at rest and in flight: found along with the rest.
	noise      [2]float64
	alone      float64          // that in flight, where neighbours are taken to share nothing
	correlated noise.Hypothesis // of errors in flight that neighbours share
	stated     bool             // the trace states correlated errors
	restU      float64          // m, of an error that all frames at rest share; 0: none
	phaseU     float64          // m, of either amplitude of the error between pixels; 0: none
	setup      *shared
	mean       camera.Warp   // of the errors of the heights
	parts      []camera.Warp // of them that are this launch's alone
	first      int           // index of its first parameter
	row        int           // of its first observation

	// Scratch: times after first motion; the model's true height and speed there; the nominal height, and its derivative by the true one.
	after, height, speed, nominal, bend []float64
}

// Offsets of a launch's parameters from its first.
const (
	atMotion = iota
	atLevel
	atRest // and then the amplitudes, and the parts
)

// atPhase is the offset of the amplitudes between pixels.
func (l *launch) atPhase() int {
	if l.restU > 0 {
		return atRest + 1
	}
	return atRest
}

// atParts is the offset of its own errors of scale.
func (l *launch) atParts() int {
	if l.phaseU > 0 {
		return l.atPhase() + 2
	}
	return l.atPhase()
}

// correlatedU is the standard deviation of the correlated error of observation k, m, under the
// hypothesis: of what is stated or, where nothing is, of what frames in flight scatter by.
func (l *launch) correlatedU(k int) float64 {
	switch {
	case k < l.moving:
		return 0
	case l.stated:
		return l.correlated.Size * l.doubtU[k]
	}
	return l.correlated.Size * noise.UnstatedSize * l.unit * l.alone
}

// along is where the observations lie along what the correlated error goes with, in correlation
// lengths.
func (l *launch) along() []float64 {
	c := noise.Course{T: l.t, Way: l.way, Moving: l.moving}
	return c.Along(l.correlated)
}

// whitener is that of the launch's errors.
func (l *launch) whitener() *noise.Whitener {
	own, size := make([]float64, len(l.t)), make([]float64, len(l.t))
	for k := range l.t {
		own[k], size[k] = l.sd(k), l.correlatedU(k)
	}
	return noise.NewWhitener(l.correlated, own, size, l.along())
}

func (l *launch) count() int { return l.atParts() + len(l.parts) }

func (l *launch) scratch() {
	for _, s := range []*[]float64{&l.after, &l.height, &l.speed, &l.nominal, &l.bend} {
		*s = make([]float64, len(l.t))
	}
}

// sd is the standard uncertainty of observation k alone, m.
func (l *launch) sd(k int) float64 {
	if k < l.rest {
		return l.u[k] * l.noise[0]
	}
	return l.u[k] * l.noise[1]
}

// fly computes the flight of launch i and puts what it has at the observations into the scratch.
func (p *problem) fly(i int, x []float64) (*flight.Flight, error) {
	l := p.launches[i]
	clock, t0 := l.setup.clock(x), l.origin+l.step*x[l.first+atMotion]
	for k, t := range l.t {
		l.after[k] = (t - t0) * clock
	}
	span := math.Max(l.after[len(l.after)-1], l.step)
	f, err := p.in.Model(i, p.values(x), span*1.02+0.05)
	if err == nil && f.FirstMotion > 0.05 { // it was held on the pad: follow it for as long again
		f, err = p.in.Model(i, p.values(x), f.FirstMotion+span*1.02+0.05)
	}
	if err != nil {
		return nil, err
	}
	f.Track(l.after, l.height, l.speed)
	w := l.warp(x)
	for k, y := range l.height {
		l.nominal[k], l.bend[k] = unwarp(w, y)
	}
	return f, nil
}

// unwarp returns the nominal height whose warp is y, and its derivative by y: Newton's method; the warp is within some percent of the
// identity.
func unwarp(w camera.Warp, y float64) (h, slope float64) {
	h, slope = y, 1
	for range 3 {
		v, dv, _ := w.At(h)
		slope = 1 / dv
		h -= (v - y) * slope
	}
	return h, slope
}

// modelled is the nominal height that the model, last flown, has at observation k.
func (l *launch) modelled(x []float64, k int) float64 {
	h := l.nominal[k] + l.unit*x[l.first+atLevel] + l.level
	if k < l.moving && l.restU > 0 {
		h += l.restU * x[l.first+atRest]
	}
	if l.phaseU > 0 {
		a := x[l.first+l.atPhase():]
		h += l.phaseU * (l.phase[k][0]*a[0] + l.phase[k][1]*a[1])
	}
	return h
}

// moved is by how much a part of a warp moves a height, m.
func moved(part camera.Warp, h float64) float64 {
	return h * (part.E[0] + h*(part.E[1]+h*part.E[2]))
}
