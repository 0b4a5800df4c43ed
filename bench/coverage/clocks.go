package main

import (
	"math"
	"math/big"
	"math/rand/v2"

	"padside/flight"
	"padside/motion"
	"padside/timebase"
)

// clocks is what is wrong with the stamps of a class, or not known of its shutter.
type clocks struct {
	lossy    float64 // share of the frames that are lost or repeated
	may      bool    // the input says that frames may have been lost
	readout  float64 // of the frame interval, in which the view is read from its top to its bottom; unknown to the measurement
	jitter   float64 // of the frame interval, rms, by which stamps stray from even times
	stampsGo bool    // the pictures were taken at the stamps, not at even times
	phone    bool    // the frame time varies, slowly and from frame to frame
}

// uneven says whether the stamps are not steady.
func (c clocks) uneven() bool { return c.jitter > 0 || c.phone }

// astray says whether they are not those of the pictures.
func (c clocks) astray() bool { return c.jitter > 0 && !c.stampsGo }

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
	phone := func(c clocks) func(r *rand.Rand) (*flight.Flight, filming) {
		return func(r *rand.Rand) (*flight.Flight, filming) {
			rates, f := [...]float64{25, 30, 50, 60, 60, 120}, motor
			if r.IntN(3) == 0 {
				f = bottle
			}
			how := filming{rate: rates[r.IntN(len(rates))], noise: logBetween(r, 0.3e-3, 3e-3), view: between(r, 3, 12), rest: 15, most: 60, clocks: c}
			if c.jitter > 0 {
				how.jitter = min(logBetween(r, 0.5e-3, 4e-3)*how.rate, 0.2)
			}
			return f(r), how
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
		{name: "phone, stamps true: 25-120 fps", draw: phone(clocks{phone: true})},
		{name: "phone, stamps jitter: 25-120 fps", draw: phone(clocks{phone: true, jitter: 0.1})},
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
	drawn := func(reach float64) float64 { return max(-reach, min(reach, r.NormFloat64())) }
	taken, swing, period, phase := 0.0, 0.0, 1.0, 0.0
	if how.phone {
		taken, swing = min(logBetween(r, 0.2e-3, 2.5e-3), 0.15*step), between(r, 0, 0.12)
		period, phase = between(r, 0.4, 2), between(r, 0, 6)
	}
	for i := range n {
		at := instant{t: t, stamp: float64(i) * step}
		if how.phone {
			at.t += taken * drawn(2)
			at.stamp = at.t
			t += step * swing * math.Sin(2*math.Pi*t/period+phase)
		}
		if how.jitter > 0 {
			at.stamp += how.jitter * step * drawn(3)
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

// steady are the times of pictures taken at a steady rate.
func steady(obs []motion.Observation) *timebase.Even {
	var stamps []*big.Rat
	for _, o := range obs {
		stamps = append(stamps, new(big.Rat).SetFloat64(o.T))
	}
	b, err := timebase.NewStamps(timebase.Container, stamps, timebase.Options{})
	if err != nil {
		panic(err) // stamps rise
	}
	if even := b.EvenTimes(); even != nil {
		return even
	}
	even := &timebase.Even{}
	for i := range stamps {
		even.Times = append(even.Times, obs[i].T-obs[0].T)
	}
	return even
}

// unknown states what the measurement may know of the clock.
func (how filming) unknown(in *motion.Input) {
	if how.may {
		in.Interval = 1 / how.rate
	}
	if how.uneven() {
		even, first := steady(in.Observations), in.Observations[0].T
		for i := range in.Observations {
			at := first + even.Times[i]
			in.Observations[i].Even, in.Observations[i].EvenU = &at, even.U
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
