package main

import (
	"math/rand/v2"

	"padside/flight"
	"padside/motion"
)

// clocks is what is wrong with the stamps of a class, or not known of its shutter.
type clocks struct {
	lossy    float64 // share of the frames that are lost or repeated
	may      bool    // the input says that frames may have been lost
	readout  float64 // of the frame interval, in which the view is read from its top to its bottom; unknown to the measurement
	jitter   float64 // of the frame interval, rms, by which stamps stray from even times
	stampsGo bool    // the pictures were taken at the stamps, not at even times
}

// slow adds to the classes those of cameras whose clock is not what the stamps say.
func clockClasses() []class {
	motor240 := func(c clocks) func(r *rand.Rand) (*flight.Flight, filming) {
		return func(r *rand.Rand) (*flight.Flight, filming) {
			how := filming{rate: 240, noise: logBetween(r, 1e-3, 3e-3), view: between(r, 3, 10), rest: 40, most: 400, clocks: c}
			if c.readout > 0 {
				how.readout = between(r, 0.1, 1)
			}
			return motor(r), how
		}
	}
	bottle240 := func(c clocks) func(r *rand.Rand) (*flight.Flight, filming) {
		return func(r *rand.Rand) (*flight.Flight, filming) {
			return bottle(r), filming{rate: 240, noise: logBetween(r, 0.5e-3, 2e-3), view: between(r, 1.5, 4), rest: 40, most: 400, clocks: c}
		}
	}
	clip30 := func(c clocks) func(r *rand.Rand) (*flight.Flight, filming) {
		return func(r *rand.Rand) (*flight.Flight, filming) {
			return motor(r), filming{rate: 30, noise: logBetween(r, 3e-3, 15e-3), view: between(r, 8, 30), rest: 20, most: 60, clocks: c}
		}
	}
	lossy, may := clocks{lossy: 1.0 / 40, may: true}, clocks{may: true}
	return []class{
		{name: "frames lost: motor 240 fps", draw: motor240(lossy)},
		{name: "frames lost: bottle 240 fps", draw: bottle240(lossy)},
		{name: "frames lost: clip 30 fps", draw: clip30(lossy)},
		{name: "may be lost, none is: motor 240 fps", draw: motor240(may)},
		{name: "may be lost, none is: bottle 240 fps", draw: bottle240(may)},
		{name: "may be lost, none is: clip 30 fps", draw: clip30(may)},
		{name: "unknown row time: motor 240 fps", draw: motor240(clocks{readout: 1})},
		{name: "stamps jitter: motor 240 fps", draw: motor240(clocks{jitter: 0.1})},
		{name: "stamps jitter rightly: motor 240 fps", draw: motor240(clocks{jitter: 0.1, stampsGo: true})},
	}
}

// instant is one stored picture: when it was taken, what its stamp says, and whether it repeats the
// one before.
type instant struct {
	t, stamp float64
	repeat   bool
}

// instants draws the clock of n stored pictures.
func (how filming) instants(n int, r *rand.Rand) []instant {
	step := 1 / how.rate
	var out []instant
	t := 0.0
	for i := range n {
		at := instant{t: t, stamp: float64(i) * step}
		if how.jitter > 0 {
			at.stamp += how.jitter * step * r.NormFloat64()
			if how.stampsGo {
				at.t = at.stamp
			}
		}
		if i > 0 && how.lossy > 0 && r.Float64() < how.lossy {
			switch r.IntN(4) {
			case 0: // stored again in place of the next
				at.repeat = true
			case 1: // put in between
				at.repeat = true
				t -= step
			default:
				lost := float64(1 + r.IntN(2)*r.IntN(2))
				at.t, t = at.t+lost*step, t+lost*step
			}
		}
		t += step
		out = append(out, at)
	}
	origin := out[0]
	for i := range out {
		out[i].t, out[i].stamp = out[i].t-origin.t, out[i].stamp-origin.stamp
	}
	return out
}

// rows is the delay of height h, s: the view is read from its top down in the readout's share of a
// frame interval, from the sensor's first row on.
func (how filming) rows(h float64) float64 {
	return how.readout / how.rate * (how.view - h) / how.view
}

// heightAt is the height seen in a picture of time t: that at which the vehicle is when its row is read.
func (how filming) heightAt(f *flight.Flight, t float64) float64 {
	h := f.At(t).Height
	for range 40 { // contracts as long as the vehicle is slower than the rows
		h = f.At(t + how.rows(h)).Height
	}
	return h
}

// unknown states what the measurement may know of the clock.
func (how filming) unknown(in *motion.Input) {
	if how.may {
		in.Interval = 1 / how.rate
	}
	if how.jitter > 0 {
		// A line through the stamps.
		n := float64(len(in.Observations))
		var t, i2, it, i1 float64
		for i, o := range in.Observations {
			x := float64(i)
			t, it, i1, i2 = t+o.T, it+x*o.T, i1+x, i2+x*x
		}
		step := (it - i1*t/n) / (i2 - i1*i1/n)
		for i := range in.Observations {
			even := t/n + step*(float64(i)-i1/n)
			in.Observations[i].Even = &even
		}
	}
	if how.readout == 0 {
		return
	}
	in.Common.DelaySources = []string{"rolling shutter"}
	in.Common.Delay = func(setup *rand.Rand, hold string) motion.Delay {
		k := how
		k.readout = 0.1 + 0.9*setup.Float64()
		if hold != "" {
			k.readout = 0.55
		}
		top := k.rows(0)
		return motion.Delay{T0: top, T1: (k.rows(1) - top)}
	}
}
