package main

import (
	"math"
	"math/rand/v2"

	"padside/motion"
)

// Footage that begins late, in which what is held trembles, or that shows a landing: its truth is
// sampled, for what is asked is only what the frames span.

// sampled is a motion at even steps: heights and speeds from time 0 on.
type sampled struct {
	step float64
	h, v []float64
}

func (s sampled) at(t float64) (h, v float64) {
	x := t / s.step
	i := min(max(int(x), 0), len(s.h)-2)
	f := x - float64(i)
	return s.h[i] + f*(s.h[i+1]-s.h[i]), s.v[i] + f*(s.v[i+1]-s.v[i])
}

// peakSpeed is the highest within [from, to].
func (s sampled) peakSpeed(from, to float64) (top float64) {
	for i := int(math.Ceil(from / s.step)); i < len(s.v) && float64(i)*s.step <= to; i++ {
		top = math.Max(top, s.v[i])
	}
	return top
}

// peakAcceleration is the highest mean acceleration over a window within [from, to].
func (s sampled) peakAcceleration(window, from, to float64) float64 {
	best := math.Inf(-1)
	for i := int(math.Ceil(from / s.step)); float64(i)*s.step+window <= to; i++ {
		_, v := s.at(float64(i)*s.step + window)
		best = math.Max(best, (v-s.v[i])/window)
	}
	return best
}

// speedReached is the time after begin at which a speed is reached first.
func (s sampled) speedReached(speed, begin float64) (float64, bool) {
	for i := int(begin / s.step); i < len(s.v); i++ {
		if s.v[i] >= speed {
			return float64(i)*s.step - begin, true
		}
	}
	return 0, false
}

// heightReached is the time at which a height above that at begin is reached first, from then on.
func (s sampled) heightReached(height, begin float64) (float64, bool) {
	h0, _ := s.at(begin)
	for i := int(begin / s.step); i < len(s.h); i++ {
		if s.h[i] >= h0+height {
			return float64(i) * s.step, true
		}
	}
	return 0, false
}

// shot takes frames of a sampled motion from time from to time to; first is its first motion.
func (s sampled) shot(how filming, first, from, to float64, r *rand.Rand) filmed {
	level := how.noise * math.Exp(0.15*r.NormFloat64())
	var in motion.Input
	in.Lane = 1
	for i := 0; ; i++ {
		t := from + float64(i)/how.rate
		if t > to {
			break
		}
		h, _ := s.at(t)
		in.Observations = append(in.Observations, motion.Observation{Frame: i, T: t - from, H: h + level*r.NormFloat64(), U: how.noise})
	}
	last := from + in.Observations[len(in.Observations)-1].T
	out := filmed{in: in, last: last}
	begin := math.Max(first, from)
	top := s.peakSpeed(begin, last)
	out.speed = top * between(r, 0.4, 0.85)
	h0, _ := s.at(first)
	h1, _ := s.at(last)
	for _, h := range s.h[:int(last/s.step)] {
		h1 = math.Max(h1, h)
	}
	out.gate = (h1 - h0) * between(r, 0.3, 0.9)
	out.in.Questions.Speeds, out.in.Questions.Gates = []float64{out.speed}, []float64{out.gate}
	out.truth = func(id string, arg float64) (float64, bool) {
		switch id {
		case motion.FirstMotion:
			return first - from, true
		case motion.TimeToSpeed:
			return s.speedReached(out.speed, first)
		case motion.PeakSpeed:
			return top, true
		case motion.GateCrossing:
			t, ok := s.heightReached(out.gate, first)
			return t - from, ok
		case motion.PeakAcceleration:
			return s.peakAcceleration(arg, begin, last), true
		}
		return 0, false
	}
	return out
}

// cutInFlight films a bottle or a motor from after first motion on.
func cutInFlight(r *rand.Rand) (filmed, filming) {
	f, how := motor(r), filming{rate: 240, noise: logBetween(r, 1e-3, 3e-3), view: between(r, 4, 10)}
	if r.IntN(2) == 0 {
		f, how = bottle(r), filming{rate: between(r, 500, 2000), noise: logBetween(r, 0.1e-3, 0.4e-3), view: between(r, 1.2, 2.5)}
	}
	s := sampled{step: 2e-5}
	until, _ := f.HeightReached(how.view)
	until -= f.FirstMotion
	for t := 0.0; t < until+2*s.step; t += s.step {
		x := f.At(f.FirstMotion + t)
		s.h, s.v = append(s.h, x.Height), append(s.v, x.Speed)
	}
	return s.shot(how, 0, until*between(r, 0.3, 0.6), until, r), how
}

// dropped lets a ball go from a hand that trembles with an amplitude, m, and lets it land and rise
// again where it lands.
func dropped(r *rand.Rand, how filming, tremble float64, lands bool) (filmed, filming) {
	const gravity = 9.81
	s := sampled{step: 1e-5}
	drag := logBetween(r, 0.005, 0.05) // 1/m
	first := between(r, 0.5, 1.2)
	wave := func(size, slow, fast float64) func(t float64) (h, v float64) {
		a, w, p := size*r.NormFloat64(), 2*math.Pi/between(r, slow, fast), 2*math.Pi*r.Float64()
		return func(t float64) (float64, float64) { return a * math.Sin(w*t+p), a * w * math.Cos(w*t+p) }
	}
	one, two, three := wave(tremble, 0.5, 1.2), wave(0.4*tremble, 0.2, 0.5), wave(0.1*tremble, 0.08, 0.15)
	var h, v, end float64
	for t := 0.0; t < first+1.5; t += s.step {
		if t <= first {
			a, va := one(t)
			b, vb := two(t)
			c, vc := three(t)
			h, v = a+b+c, va+vb+vc
		} else {
			v += (gravity - drag*v*math.Abs(v)) * s.step
			h += v * s.step
		}
		if h > how.view && v > 0 {
			if !lands {
				end = t
				break
			}
			if end == 0 {
				end = t + between(r, 0.1, 0.35)
			}
			v *= -between(r, 0.3, 0.8)
		}
		s.h, s.v = append(s.h, h), append(s.v, v)
	}
	out := s.shot(how, first, 0, math.Min(end, float64(len(s.h)-2)*s.step), r)
	out.in.Kind = motion.Dropped
	return out, how
}
