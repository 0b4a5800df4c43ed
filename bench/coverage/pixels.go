package main

import (
	"math"
	"math/rand/v2"

	"padside/flight"
	"padside/motion"
	"padside/noise"
)

// betweenPixels adds an error that is a function of where between pixels the vehicle is, of two
// harmonics of which package motion knows one, less what the exposure blurs away; and it states what
// package trace states. The phase that is stated is that of the place as measured, which errs with it.
func (how filming) betweenPixels(f *flight.Flight, shift float64, in *motion.Input, r *rand.Rand) {
	in.PhaseU, in.RestU = 0.02*how.pixel, 0.007*how.pixel
	rest := 0.0
	if how.restU > 0 {
		in.RestU, rest = how.restU, how.restU/2*r.NormFloat64()
	}
	start := r.Float64()
	a, b, c, d := 0.018*r.NormFloat64(), 0.018*r.NormFloat64(), 0.004*r.NormFloat64(), 0.004*r.NormFloat64()
	open := how.exposure
	if open == 0 {
		open = 0.25
	}
	for i := range in.Observations {
		o := &in.Observations[i]
		x := f.At(o.T + shift)
		blur := x.Speed / how.pixel / how.rate * open
		left := func(n float64) float64 {
			switch y := n * math.Pi * blur; {
			case y == 0:
				return 1
			case y >= math.Pi:
				return 0
			default:
				return math.Sin(y) / y
			}
		}
		at := func(h float64) (sin, cos float64) { return math.Sincos(2 * math.Pi * (start + h/how.pixel)) }
		sin, cos := at(o.H)
		o.Phase = noise.Phase{left(1) * cos, left(1) * sin}
		if how.restU > 0 { // as it was matched before it moved, and what it keeps of that
			own := noise.Leaving(x.Height / how.pixel)
			o.H += own * how.restU / 2 * r.NormFloat64()
			if x.Height < 0.1*how.pixel {
				o.H += rest
			}
			o.U = math.Hypot(o.U, how.restU*noise.Leaving((o.H-in.Observations[0].H)/how.pixel))
		}
		if how.biased {
			sin, cos = at(x.Height)
			o.H += how.pixel * (left(1)*(a*cos+b*sin) + left(2)*(c*(cos*cos-sin*sin)+d*2*sin*cos))
		}
	}
}
