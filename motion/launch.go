package motion

import "math"

// shape is the structure of a launch: how it begins and whether thrust ends in view.
type shape struct {
	buildUp bool // thrust rises steadily from first motion on; else it is there at once
	ends    bool // thrust ends in view
}

// shapes lists all structures; they are averaged by their evidence.
var shapes = [...]shape{{false, false}, {true, false}, {false, true}, {true, true}}

// params are the unknowns of a launch but for first motion and the path itself.
// Times, and everything else, in the units of the series.
type params struct {
	noise  float64 // factor on the stated standard uncertainties
	walk   float64 // spectral density of jerk until the end of thrust
	full   float64 // instant at which build-up is complete (buildUp)
	end    float64 // instant at which thrust ends (ends)
	walk2  float64 // spectral density of jerk after the end of thrust (ends)
	jump   float64 // standard deviation of the jump at the end of thrust (ends)
	shape  shape
	series *series
}

// onset is the likelihood of one candidate instant of first motion, as a function of the
// launch coefficient b >= 0 (initial acceleration, or slope of the build-up):
// exp(c - m b^2/2 + n b), the rest level integrated over. to0 is the function of the state at that instant.
type onset struct {
	t       float64
	k       int // first frame at or after t
	c, m, n float64
	to0     ahead
	fullIn  float64 // length of the build-up; 0 for a step
}

// track walks the likelihood back from the last frame, recording gains when asked.
type track struct {
	p     *params
	s     ahead
	t     float64   // where s is
	steps []element // recorded, last first; nil: not recorded
	keep  bool
}

// element is one recorded step of the way back: a stretch of time or a jump.
type element struct {
	from, to float64
	slope    bool
	frame    int // index of the frame at `to`, or -1
	gain     gain
	still    bool // no random part
	jump     bool
	jg       jumpGain
}

// newTrack begins at the last frame.
func newTrack(p *params, keep bool) *track {
	s := p.series
	k := &track{p: p, t: s.t[len(s.t)-1], keep: keep}
	k.s.logs = 1
	return k
}

// observe takes in frame i.
func (k *track) observe(i int) {
	s := k.p.series
	k.s.observe(s.y[i], s.w[i]/(k.p.noise*k.p.noise))
}

// backTo goes back to time t, through the end of thrust and of the build-up where they lie
// between. frame is the index of the frame at the far end, -1 for none.
func (k *track) backTo(t float64, frame int) {
	p := k.p
	if p.shape.ends && p.end > t && p.end < k.t {
		k.stretch(p.end, frame)
		frame = -1
		g := k.s.jump(p.jump)
		if k.keep {
			k.steps = append(k.steps, element{from: p.end, to: p.end, jump: true, jg: g, frame: -1})
		}
	}
	if p.shape.buildUp && p.full > t && p.full < k.t {
		k.stretch(p.full, frame)
		frame = -1
	}
	k.stretch(t, frame)
}

// stretch goes back to time t with no event between.
func (k *track) stretch(t float64, frame int) {
	d := k.t - t
	if d <= 0 {
		return
	}
	p := k.p
	q := p.walk
	if p.shape.ends && t >= p.end {
		q = p.walk2
	}
	slope := p.shape.buildUp && k.t <= p.full
	g := k.s.back(d, 1/q, slope)
	if k.keep {
		k.steps = append(k.steps, element{from: t, to: k.t, slope: slope, frame: frame, gain: g, still: q == 0})
	}
	k.t = t
}

// at evaluates first motion at time t in (t of frame i-1, t of frame i], the track
// standing at frame i, already observed.
func (k *track) at(t float64, i int) onset {
	from := *k
	from.keep = false
	from.backTo(t, -1)
	from.s.settle()
	return from.start(i)
}

// start closes the likelihood at the track's own instant as first motion, frames before i
// being at rest at an unknown level.
func (k *track) start(i int) onset {
	p, s := k.p, &k.s
	o := onset{t: k.t, k: i, to0: *s}
	var m, n, cross float64
	if p.shape.buildUp {
		o.fullIn = p.full - k.t
		m, n, cross = s.m, s.n, s.k.h
	} else {
		m, n, cross = s.L.aa, s.e.a, s.L.ha
	}
	w, y, yy, logs := p.rest(i)
	P, E := s.L.hh+w, s.e.h+y
	o.c = s.c - 0.5*yy + 0.5*logs + 0.5*E*E/P - 0.5*math.Log(P)
	o.m = m - cross*cross/P
	o.n = n - cross*E/P
	return o
}

// rest returns the sums over the frames before i, for the noise level of p.
func (p *params) rest(i int) (w, y, yy, logs float64) {
	s := p.series
	f := 1 / (p.noise * p.noise)
	return s.sumW[i] * f, s.sumY[i] * f, s.sumYY[i] * f, s.sumLog[i] + float64(i)*math.Log(f)
}

// coefficientScales are the standard deviations of the half-normal parts of the prior of
// the launch acceleration, relative to the mean acceleration in view: nearly flat in its
// logarithm over two decades.
var coefficientScales = [...]float64{0.1, 0.4, 1.5, 6}

// logWeight integrates the coefficient out of an onset, over its prior. The return value parts[i]
// is the logarithm of the share of scale i.
func (p *params) logWeight(o *onset) (sum float64, parts [len(coefficientScales)]float64) {
	best := math.Inf(-1)
	for i, r := range coefficientScales {
		scale := p.series.accel * r
		if p.shape.buildUp {
			scale /= o.fullIn
		}
		v := o.m + 1/(scale*scale)
		z := o.n / math.Sqrt(v)
		parts[i] = 0.5*z*z + logNormalCDF(z) - math.Log(scale*math.Sqrt(v)/2)
		best = math.Max(best, parts[i])
	}
	for i := range parts {
		sum += math.Exp(parts[i] - best)
	}
	sum = o.c + best + math.Log(sum/float64(len(parts)))
	return sum, parts
}

// logNormalCDF returns the logarithm of the standard normal distribution function.
func logNormalCDF(z float64) float64 {
	if z > -8 {
		return math.Log(0.5 * math.Erfc(-z/math.Sqrt2))
	}
	// asymptotic series (Abramowitz & Stegun 26.2.12, from memory), relative error < 1e-3 here
	return -0.5*z*z - math.Log(-z*math.Sqrt(2*math.Pi)) + math.Log1p(-1/(z*z)+3/(z*z*z*z))
}
