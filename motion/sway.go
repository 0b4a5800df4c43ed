package motion

import (
	"math"
	"slices"
)

// At rest a vehicle, or what is known of its place, may not stay where it is: a hand that holds a
// ball trembles, wind sways a tower, a search that holds on to smoke or to the rail beside the nose
// drifts. That is small, bounded and comes back, which a launch does not. As a hypothesis about
// rest the place wanders smoothly about an unknown level, with the covariance (Matern, order 3/2;
// Rasmussen & Williams, Gaussian Processes for Machine Learning, 2006, 4.2.1, from memory)
//
//	cov(h(t), h(t')) = amplitude^2 (1 + r) exp(-r),   r = sqrt(3) |t - t'|/time
//
// and first motion takes over place and speed of that instant. Amplitude and time are the most
// probable ones of the frames that come back. It is averaged with rest that is still, by evidence.
type sway struct {
	amplitude float64 // m
	time      float64 // s
	last      int     // last frame that came back
	move      int     // first frame plainly beyond all that came back
}

// A vehicle is asked whether it sways where two frames in a row lie below the highest before them
// by swayReturn standard uncertainties of their difference, and swayFrames or more come until then.
// ln of the odds of that, the choice of amplitude and time counted in; a hand that lets go always
// trembles.
const (
	swayReturn  = 3.0
	swayFrames  = 6
	swayOdds    = -5.0
	swayDropped = -2.0
	// swayWay is the share of the whole way beyond which what comes back is no sway of what is launched, but a trace that leapt (an
	// assumption, no source). A hand may carry what it drops anywhere.
	swayWay = 0.05
)

// swaying is a process of the above kind in any units: variance of the place and rate sqrt(3)/time.
type swaying struct{ variance, rate float64 }

// in returns the process in the units of the series.
func (w *sway) in(s *series) swaying {
	return swaying{w.amplitude * w.amplitude / (s.unitH * s.unitH), math.Sqrt(3) / w.time * s.unitT}
}

// swayed is what the frames up to one say where the vehicle sways: place, speed and level there,
// normal of mean x and covariance V, and what they add to the logarithm of the likelihood but for
// noiseLevel's part.
type swayed struct {
	x [3]float64
	V [3][3]float64
	c float64
}

// ahead goes on by a time d.
func (s swayed) ahead(w swaying, d float64) swayed {
	l, e := w.rate, math.Exp(-w.rate*d)
	a, b, c, g := e*(1+l*d), e*d, -e*l*l*d, e*(1-l*d) // of the deviation and its speed
	F := [3][3]float64{{a, b, 1 - a}, {c, g, -c}, {0, 0, 1}}
	out := swayed{c: s.c}
	for i := range 3 {
		for j := range 3 {
			out.x[i] += F[i][j] * s.x[j]
			for k := range 3 {
				for m := range 3 {
					out.V[i][j] += F[i][k] * s.V[k][m] * F[j][m]
				}
			}
		}
	}
	// what keeps the process stationary
	p, q := w.variance, w.variance*l*l
	out.V[0][0] += p - a*a*p - b*b*q
	out.V[1][1] += q - c*c*p - g*g*q
	r := -a*c*p - b*g*q
	out.V[0][1], out.V[1][0] = out.V[0][1]+r, out.V[1][0]+r
	return out
}

// seen takes in a height y of variance v.
func (s swayed) seen(y, v float64) swayed {
	S, e := s.V[0][0]+v, y-s.x[0]
	out := s
	out.c -= 0.5 * (math.Log(S) + e*e/S)
	for i := range 3 {
		out.x[i] += s.V[i][0] / S * e
		for j := range 3 {
			out.V[i][j] -= s.V[i][0] * s.V[0][j] / S
		}
	}
	return out
}

// begin takes in the first height: the place has a flat prior, the level lies about it.
func (w swaying) begin(y, v float64) swayed {
	return swayed{x: [3]float64{y, 0, y}, V: [3][3]float64{{v, 0, v}, {0, w.variance * w.rate * w.rate, 0}, {v, 0, v + w.variance}}}
}

// filter returns what the frames before each index say, f being the factor on precisions (Kalman,
// J. Basic Eng. 82:35, 1960).
func (w *sway) filter(s *series, f float64) []swayed {
	process := w.in(s)
	n := min(len(s.t), w.move+denseFrames)
	out := make([]swayed, n+1)
	x := process.begin(s.y[0], 1/(f*s.w[0]))
	for i := range n {
		if i > 0 {
			x = x.ahead(process, s.t[i]-s.t[i-1]).seen(s.y[i], 1/(f*s.w[i]))
		}
		x.c -= -0.5*f*s.w[i]*s.y[i]*s.y[i] + 0.5*math.Log(f*s.w[i]) // noiseLevel's part
		out[i+1] = x
	}
	return out
}

// takeRest takes what the frames before i say of place and speed at first motion t into the
// likelihood there, the track standing at it, and the speed out.
func (k *track) takeRest(i int) {
	p := k.p
	s := p.series
	if s.sway == nil || i == 0 {
		k.s.L.hh += s.sumW[i] * k.f
		k.s.e.h += s.sumY[i] * k.f
		return
	}
	if i >= len(p.rest) {
		k.s.c = math.Inf(-1)
		return
	}
	w := s.sway.in(s)
	x := p.rest[i].ahead(w, k.t-s.t[i-1])
	hh, hv, vv := x.V[0][0], x.V[0][1], x.V[1][1]
	det := hh*vv - hv*hv
	ih, ic, iv := vv/det, -hv/det, hh/det
	a := &k.s
	a.L.hh, a.L.hv, a.L.vv = a.L.hh+ih, a.L.hv+ic, a.L.vv+iv
	eh, ev := ih*x.x[0]+ic*x.x[1], ic*x.x[0]+iv*x.x[1]
	a.e.h, a.e.v = a.e.h+eh, a.e.v+ev
	a.c += x.c - 0.5*math.Log(det) - 0.5*(eh*x.x[0]+ev*x.x[1])
	a.freeSpeed(k.note(speedSet))
}

// freeSpeed takes the function back over an instant at which the speed is drawn from what the
// function itself says of it.
func (s *ahead) freeSpeed(g *gain) {
	L := &s.L
	f := L.vv
	s.reduce(1/f, s.e.v, vec{L.hv, L.vv, L.va, L.vj}, s.phase.speeds(), g)
	s.gather(f)
	if g != nil {
		g.L.v = 0
	}
	s.noSpeed()
}

// unnoticed is how far the vehicle may have gone before it is plainly off, scaled.
func (s *series) unnoticed() float64 {
	off := offRest * math.Hypot(1, s.signature(s.move)[driftShare])
	if s.sway == nil {
		return off
	}
	return off + 3*s.sway.amplitude/s.unitH
}

// swayOf returns the sway that the heights suggest, nil where none comes back. What is let go may
// sway one way only: it moves slowly then.
func swayOf(obs []Observation, kind Kind) *sway {
	last := lastReturn(obs)
	if kind == Dropped && last < 0 {
		if last = lastSlow(obs); last < 0 || extent(obs[:last+1]) < 2*offRest*medianU(obs) {
			return nil
		}
	}
	if last+1 < swayFrames {
		return nil
	}
	w := &sway{last: last, move: len(obs)}
	rest := obs[:last+1]
	top := math.Inf(-1)
	for _, o := range rest {
		top = math.Max(top, o.H)
	}
	for i := last + 1; i < len(obs); i++ {
		if obs[i].H > top+offRest*obs[i].U {
			w.move = i
			break
		}
	}
	if len(obs)-w.move < fewestMoving {
		return nil
	}
	before := beforeRise(rest)
	if kind != Dropped && extent(before) > swayWay*extent(obs) {
		return nil
	}
	w.fit(before)
	return w
}

// slowShare is the share of the highest speed below which something that is let go still moves with
// the hand.
const slowShare = 0.1

// lastSlow is the last frame before the highest speed at which the speed is below slowShare of
// that; -1 for none.
func lastSlow(obs []Observation) int {
	top, last := topSpeed(obs), -1
	for i := range obs {
		switch v := slope(obs, i); {
		case v < slowShare*top:
			last = i
		case v > 0.9*top:
			return last
		}
	}
	return last
}

// beforeRise leaves out the way from the lowest place after the highest one to the end: it may be
// the launch.
func beforeRise(rest []Observation) []Observation {
	top := 0
	for i, o := range rest {
		if o.H > rest[top].H {
			top = i
		}
	}
	low := top
	for i := top; i < len(rest); i++ {
		if rest[i].H < rest[low].H {
			low = i
		}
	}
	return rest[:max(low+1, min(swayFrames, len(rest)))]
}

// lastReturn is the last frame, before the highest, that two in a row show below the highest before
// them; -1 for none.
func lastReturn(obs []Observation) int {
	apex := 0
	for i, o := range obs {
		if o.H > obs[apex].H {
			apex = i
		}
	}
	scatter := math.Inf(1)
	var second []float64
	for i := 2; i <= apex; i++ {
		second = append(second, math.Abs(obs[i].H-2*obs[i-1].H+obs[i-2].H))
	}
	if len(second) >= swayFrames {
		scatter = median(second) / (0.6745 * math.Sqrt(6)) // of white noise
	}
	top, last := -1, -1 // the highest, as the median of three frames has it
	for i := 3; i <= apex; i++ {
		if m := middle(obs, i-2); top < 0 || obs[m].H > obs[top].H {
			top = m
		}
		u := math.Hypot(math.Min(obs[i].U, scatter), math.Min(obs[top].U, scatter))
		if math.Max(obs[i].H, obs[i-1].H) < obs[top].H-swayReturn*u {
			last = i
		}
	}
	return last
}

// middle is the index of the middle height of a frame and its neighbours.
func middle(obs []Observation, i int) int {
	three := []int{i - 1, i, i + 1}
	slices.SortFunc(three, func(a, b int) int {
		switch {
		case obs[a].H < obs[b].H:
			return -1
		case obs[a].H > obs[b].H:
			return 1
		}
		return 0
	})
	return three[1]
}

// fit sets amplitude and time to the most probable ones of frames at rest, on a grid of factors of
// 2.
func (w *sway) fit(rest []Observation) {
	var sum, sq float64
	for _, o := range rest {
		sum += o.H
	}
	for _, o := range rest {
		sq += (o.H - sum/float64(len(rest))) * (o.H - sum/float64(len(rest)))
	}
	sd := math.Sqrt(sq / float64(len(rest)))
	span := rest[len(rest)-1].T - rest[0].T
	best := math.Inf(-1)
	for a := 0.5; a <= 4; a *= 2 {
		for tau := span / float64(len(rest)-1); tau <= 2*span; tau *= 2 {
			for noise := 1.0; noise <= 4; noise *= 2 {
				x := math.Log(noise) / noiseSpread
				if l := swayEvidence(rest, swaying{a * a * sd * sd, math.Sqrt(3) / tau}, noise) - 0.5*x*x; l > best {
					best, w.amplitude, w.time = l, a*sd, tau
				}
			}
		}
	}
}

// swayEvidence is ln of the density of frames at rest under a process, with a factor on their
// uncertainties, but for a constant.
func swayEvidence(rest []Observation, w swaying, noise float64) float64 {
	v := func(i int) float64 { return rest[i].U * rest[i].U * noise * noise }
	x := w.begin(rest[0].H, v(0))
	for i := 1; i < len(rest); i++ {
		x = x.ahead(w, rest[i].T-rest[i-1].T).seen(rest[i].H, v(i))
	}
	return x.c
}
