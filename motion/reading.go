package motion

import (
	"math"

	"padside/camera"
)

// truth is one possible truth about the errors all frames share: the warp of heights, when the
// places of the flight line were seen, and the factor by which the time base's clock must be multiplied.
type truth struct {
	warp  camera.Warp
	delay Delay
	clock float64
}

// place says where on a path the peaks are read; see reading.peaks.
type place struct {
	speed float64 // s, instant of highest speed
	accel float64 // s, beginning of the stretch of highest mean acceleration
	leave float64 // s, instant at which the vehicle leaves the view
}

// reading evaluates one path under one truth. Its methods return NaN for what is not reached.
type reading struct {
	p     *path
	tr    truth
	y0    float64   // warped rest level
	speed []float64 // warped speed at each knot, by the observations' clock less the delay
	high  []float64 // warped height above rest at each knot
}

func (r *reading) reset(p *path, tr truth) {
	r.p, r.tr = p, tr
	r.y0, _, _ = tr.warp.At(p.h0)
	r.speed, r.high = r.speed[:0], r.high[:0]
	for i := range p.knots {
		x := &p.knots[i].x
		y, dy, _ := tr.warp.At(x.h)
		r.speed = append(r.speed, dy*tr.delay.sheared(x.h, x.v, x.a).v)
		r.high = append(r.high, y-r.y0)
	}
}

// state returns warped height, speed and acceleration at time t.
func (r *reading) state(t float64) vec { return r.warped(r.p.at(t)) }

func (r *reading) warped(x vec) vec {
	x = r.tr.delay.sheared(x.h, x.v, x.a)
	y, dy, ddy := r.tr.warp.At(x.h)
	c := r.tr.clock
	return vec{h: y - r.y0, v: dy * x.v / c, a: (dy*x.a + ddy*x.v*x.v) / (c * c)}
}

// clocked is the true time, from time zero, of what the path shows at the observations' time t.
func (r *reading) clocked(t float64) float64 { return (t + r.late(t)) * r.tr.clock }

// late is the delay of what the path shows at the observations' time t.
func (r *reading) late(t float64) float64 {
	if r.tr.delay == (Delay{}) {
		return 0
	}
	d, _, _ := r.tr.delay.At(r.p.at(t).h)
	return d
}

// begin is the true time of first motion.
func (r *reading) begin() float64 { return r.clocked(r.p.t0) }

// timeToSpeed returns the time from first motion until speed v is first reached.
func (r *reading) timeToSpeed(v float64) float64 {
	t := r.firstAt(v*r.tr.clock, r.speed, func(x vec) float64 {
		_, dy, _ := r.tr.warp.At(x.h)
		return dy * r.tr.delay.sheared(x.h, x.v, x.a).v
	}, true)
	return r.clocked(t) - r.begin()
}

// gate returns the instant at which height h is passed, by the observations' clock.
func (r *reading) gate(h float64) float64 {
	return r.firstAt(h, r.high, func(x vec) float64 {
		y, _, _ := r.tr.warp.At(x.h)
		return y - r.y0
	}, false)
}

// firstAt returns the first instant at which f, known at the knots as values, reaches level.
// With peaks set, a peak between two knots counts.
func (r *reading) firstAt(level float64, values []float64, f func(vec) float64, peaks bool) float64 {
	k := r.p.knots
	for i := range values {
		if values[i] >= level {
			if i == 0 {
				return k[0].t
			}
			a := &k[i-1]
			return refine(a.t, k[i].t, func(t float64) float64 { return f(a.at(t)) - level })
		}
		if peaks && i < len(k)-1 {
			if top, ok := k[i].crest(k[i+1].t); ok && f(k[i].at(top)) >= level {
				return refine(k[i].t, top, func(t float64) float64 { return f(k[i].at(t)) - level })
			}
		}
	}
	return math.NaN()
}

// crest returns the instant after a knot, before that of the next, at which the speed turns from
// growing to falling.
func (k *knot) crest(next float64) (float64, bool) {
	if k.x.a <= 0 || k.x.j >= 0 {
		return 0, false
	}
	t := k.t - k.x.a/k.x.j
	return t, t < next
}

// speedAt returns the speed at time t.
func (r *reading) speedAt(t float64) float64 { return r.state(t).v }

// meanAcceleration returns the mean acceleration over the stretch [t, t+window].
func (r *reading) meanAcceleration(t, window float64) float64 {
	return (r.speedAt(t+window) - r.speedAt(t)) / (r.clocked(t+window) - r.clocked(t))
}

// leastImpact is by what share the speed must fall at once for an impact: more than rounding.
const leastImpact = 1e-6

// peaks finds where the highest speed and the highest mean acceleration over window are.
// The highest speed is located on the mean of the drawn paths and read on each: the highest
// speed of a noisy path by itself is biased upward.
func (p *path) peaks(window float64) place {
	at := place{speed: p.t0, accel: p.t0}
	best := math.Inf(-1)
	for i := range p.knots {
		k := &p.knots[i]
		if k.x.v > best {
			best, at.speed = k.x.v, k.t
		}
		if i < len(p.knots)-1 {
			next := p.knots[i+1].t
			if top, ok := k.crest(next); ok {
				if v := k.at(top).v; v > best {
					best, at.speed = v, top
				}
			}
			if v := k.at(next).v; v > best && v > p.knots[i+1].x.v+leastImpact*math.Abs(v) { // just before an impact
				best, at.speed = v, math.Nextafter(next, p.t0)
			}
		}
	}
	if window > 0 {
		at.accel = p.steepest(window)
	}
	return at
}

// steepest returns the beginning of the stretch of length window, within the path, over
// which the speed grows most.
func (p *path) steepest(window float64) float64 {
	k := p.knots
	last := k[len(k)-1].t
	best, at := math.Inf(-1), p.t0
	try := func(t, gain float64) {
		if gain > best {
			best, at = gain, t
		}
	}
	j := 0
	for i := range k {
		end := k[i].t + window
		if end > last {
			break
		}
		for j < len(k)-1 && k[j+1].t <= end {
			j++
		}
		from, v := k[i].t, k[i].x.v
		if i == 0 && p.jolted { // from rest
			from, v = math.Nextafter(from, math.Inf(-1)), 0
		}
		try(from, k[j].at(end).v-v)
	}
	if p.end <= last && p.end-window > p.t0 {
		try(p.end-window, p.at(p.end).v-p.at(p.end-window).v)
	}
	if last-window > p.t0 {
		try(last-window, k[len(k)-1].x.v-p.at(last-window).v)
	}
	return at
}
