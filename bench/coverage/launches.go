package main

import (
	"math"
	"math/rand/v2"
	"slices"

	"padside/flight"
	"padside/motion"
)

// class is one kind of footage.
type class struct {
	name string
	draw func(r *rand.Rand) (*flight.Flight, filming)
	// film draws footage with a truth of its own, where draw is nil.
	film func(r *rand.Rand) (filmed, filming)
}

// trace draws one trace.
func (c class) trace(r *rand.Rand) (filmed, filming) {
	if c.draw == nil {
		return c.film(r)
	}
	f, how := c.draw(r)
	return film(f, how, r), how
}

// filming is how a launch is seen.
type filming struct {
	rate  float64 // frames per second
	noise float64 // m, stated standard uncertainty of each height
	view  float64 // m, height of the view above rest
	rest  int     // frames before first motion, about
	most  int     // most frames after first motion; the footage ends there

	pixel  float64 // m; above 0, the trace states an error between pixels
	biased bool    // and has one
	// exposure is that of a frame in frame intervals; 0: a quarter.
	exposure float64
	// restU is what all frames at rest err by together, half of it true, m; 0: 0.007 px, none true.
	restU float64

	kind    motion.Kind // stated
	dropped bool        // what gravity it shows is asked for

	correlated
	clocks
}

func classes() []class {
	list := []class{
		{name: "bottle 1600 fps, 0.1 mm", draw: func(r *rand.Rand) (*flight.Flight, filming) {
			return bottle(r), filming{rate: 1600, noise: 0.1e-3, view: between(r, 1.2, 1.8), rest: 30, most: 1500}
		}},
		{name: "the same, let go without a tube", draw: func(r *rand.Rand) (*flight.Flight, filming) {
			return bottleAs(r, false), filming{rate: 1600, noise: 0.1e-3, view: between(r, 1.2, 1.8), rest: 30, most: 1500}
		}},
		{name: "bottle 1000-2000 fps", draw: func(r *rand.Rand) (*flight.Flight, filming) {
			rates := [...]float64{1000, 1600, 2000}
			return bottle(r), filming{rate: rates[r.IntN(3)], noise: logBetween(r, 0.05e-3, 0.3e-3), view: between(r, 1, 2.5), rest: 30, most: 1500}
		}},
		{name: "bottle, end of thrust in view", draw: func(r *rand.Rand) (*flight.Flight, filming) {
			rates := [...]float64{1000, 1600, 2000}
			f := bottle(r)
			end := f.At(f.EndOfThrust).Height
			return f, filming{rate: rates[r.IntN(3)], noise: logBetween(r, 0.05e-3, 0.3e-3), view: end * between(r, 1.2, 1.8), rest: 30, most: 400}
		}},
		// From stills the scatter is small and the error that goes with the place between pixels rules; the second has none, though
		// it is stated.
		{name: "bottle, error between pixels", draw: func(r *rand.Rand) (*flight.Flight, filming) {
			return bottle(r), sharp(r, true)
		}},
		{name: "the same, stated but not there", draw: func(r *rand.Rand) (*flight.Flight, filming) {
			return bottle(r), sharp(r, false)
		}},
		{name: "motor 240 fps", draw: func(r *rand.Rand) (*flight.Flight, filming) {
			return motor(r), filming{rate: 240, noise: logBetween(r, 1e-3, 3e-3), view: between(r, 3, 10), rest: 40, most: 400}
		}},
		{name: "clip 30 fps", draw: func(r *rand.Rand) (*flight.Flight, filming) {
			return motor(r), filming{rate: 30, noise: logBetween(r, 3e-3, 15e-3), view: between(r, 8, 30), rest: 20, most: 60}
		}},
		{name: "burst 8-10 fps", draw: func(r *rand.Rand) (*flight.Flight, filming) {
			f := motor(r)
			if r.IntN(2) == 0 {
				f = bottle(r)
			}
			return f, filming{rate: between(r, 8, 10), noise: logBetween(r, 5e-3, 20e-3), view: between(r, 5, 14), rest: 4, most: 9}
		}},
		// The next two had no part in choosing priors.
		{name: "held out: bottle on a long tube", draw: func(r *rand.Rand) (*flight.Flight, filming) {
			return longTube(r), filming{rate: between(r, 800, 2500), noise: logBetween(r, 0.05e-3, 0.4e-3), view: between(r, 1, 2.5), rest: 30, most: 1500}
		}},
		{name: "held out: motor, falling thrust", draw: func(r *rand.Rand) (*flight.Flight, filming) {
			return falling(r), filming{rate: between(r, 100, 500), noise: logBetween(r, 1e-3, 4e-3), view: between(r, 3, 15), rest: 40, most: 500}
		}},
		{name: "bottle 240 fps", draw: func(r *rand.Rand) (*flight.Flight, filming) {
			return bottle(r), filming{rate: 240, noise: logBetween(r, 1e-3, 3e-3), view: between(r, 1, 3), rest: 30, most: 200}
		}},
		// What is asked of these is what the frames span: no first motion where none was filmed.
		{name: "cut in flight", film: cutInFlight},
		{name: "tremble at rest", film: func(r *rand.Rand) (filmed, filming) {
			how := filming{rate: between(r, 100, 240), noise: logBetween(r, 0.3e-3, 1e-3), view: between(r, 1, 2.3)}
			return dropped(r, how, logBetween(r, 2e-3, 10e-3), false)
		}},
		{name: "landing in view", film: func(r *rand.Rand) (filmed, filming) {
			how := filming{rate: between(r, 60, 240), noise: logBetween(r, 0.5e-3, 2e-3), view: between(r, 0.8, 2.3)}
			return dropped(r, how, 0, true)
		}},
	}
	return slices.Concat(list, clockClasses(), correlatedClasses(), launchedClasses())
}

// sharp films with little noise.
func sharp(r *rand.Rand, biased bool) filming {
	pixel := between(r, 1.5e-3, 3e-3)
	return filming{rate: between(r, 1000, 2000), noise: 0.01 * pixel, view: between(r, 1.2, 1.8), rest: 30, most: 400, pixel: pixel, biased: biased}
}

func between(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

func logBetween(r *rand.Rand, lo, hi float64) float64 {
	return lo * math.Exp(r.Float64()*math.Log(hi/lo))
}

// bottle flies a water rocket of invented proportions that reaches 26 m/s or more.
// One in three leaves over a launch tube, which pushes less, and longer.
func bottle(r *rand.Rand) *flight.Flight { return bottleAs(r, r.IntN(3) == 0) }

func bottleAs(r *rand.Rand, tube bool) *flight.Flight {
	for {
		v := between(r, 0.5e-3, 2e-3)
		b := flight.Bottle{
			Volume: v, Water: v * between(r, 0.2, 0.4), Pressure: between(r, 3e5, 6.5e5),
			NozzleDiameter: between(r, 9e-3, 21.5e-3), DryMass: between(r, 0.06, 0.2),
			BodyDiameter: between(r, 0.065, 0.11), DragCoefficient: between(r, 0.3, 0.6),
			Exponent: between(r, 1.2, 1.4), Site: flight.StandardSite(),
		}
		if tube {
			b.Tube = &flight.Tube{Length: between(r, 0.1, 0.3), Diameter: between(r, 8e-3, 0.9*b.NozzleDiameter)}
		}
		f, err := b.Fly()
		if err != nil {
			continue
		}
		if _, top := f.PeakSpeed(math.Inf(1)); top > 28 && top < 90 {
			return f
		}
	}
}

// motor flies a solid-motor rocket whose thrust rises over 5 to 60 ms, falls from its spike
// to a long middle and tails off.
func motor(r *rand.Rand) *flight.Flight {
	for {
		dry := logBetween(r, 0.05, 3)
		mean := dry * between(r, 60, 180)
		rise, burn := logBetween(r, 5e-3, 60e-3), between(r, 0.4, 2)
		spike := between(r, 1, 1.6)
		m := flight.Motor{
			Thrust: []flight.ThrustPoint{
				{Time: 0, Force: 0}, {Time: rise, Force: mean * spike},
				{Time: rise + between(r, 0.03, 0.15), Force: mean * between(r, 0.9, 1.1)},
				{Time: 0.6 * burn, Force: mean * between(r, 0.8, 1.2)},
				{Time: 0.92 * burn, Force: mean * between(r, 0.5, 0.9)}, {Time: burn, Force: 0},
			},
			PropellantMass: dry * between(r, 0.05, 0.3), DryMass: dry,
			BodyDiameter: 0.03 * math.Cbrt(dry/0.05), DragCoefficient: between(r, 0.4, 0.7), Site: flight.StandardSite(),
		}
		f, err := m.Fly()
		if err == nil {
			return f
		}
	}
}

// longTube flies a bottle that is pushed along a tube of 0.3 to 0.6 m first.
func longTube(r *rand.Rand) *flight.Flight {
	for {
		v := between(r, 0.8e-3, 2e-3)
		nozzle := between(r, 15e-3, 22e-3)
		f, err := flight.Bottle{
			Volume: v, Water: v * between(r, 0.2, 0.4), Pressure: between(r, 3e5, 6.5e5),
			NozzleDiameter: nozzle, DryMass: between(r, 0.08, 0.25),
			BodyDiameter: between(r, 0.065, 0.11), DragCoefficient: between(r, 0.3, 0.6),
			Exponent: between(r, 1.2, 1.4), Site: flight.StandardSite(),
			Tube: &flight.Tube{Length: between(r, 0.3, 0.6), Diameter: between(r, 0.7, 0.95) * nozzle},
		}.Fly()
		if err == nil {
			return f
		}
	}
}

// falling flies a motor whose thrust rises over 3 to 100 ms and falls from then on.
func falling(r *rand.Rand) *flight.Flight {
	for {
		dry := logBetween(r, 0.05, 3)
		first := dry * between(r, 70, 250)
		rise, burn := logBetween(r, 3e-3, 100e-3), between(r, 0.3, 1.5)
		m := flight.Motor{
			Thrust:         []flight.ThrustPoint{{Time: 0, Force: 0}, {Time: rise, Force: first}, {Time: burn, Force: first * between(r, 0.1, 0.5)}, {Time: burn + 0.05, Force: 0}},
			PropellantMass: dry * between(r, 0.05, 0.3), DryMass: dry,
			BodyDiameter: 0.03 * math.Cbrt(dry/0.05), DragCoefficient: between(r, 0.4, 0.7), Site: flight.StandardSite(),
		}
		if f, err := m.Fly(); err == nil {
			return f
		}
	}
}

// filmed is one simulated trace and what it should measure.
type filmed struct {
	in    motion.Input
	truth func(id string, arg float64) (float64, bool)
	speed float64
	gate  float64
	last  float64 // s, launch clock, of the last frame
}

// film takes frames of a flight with a random phase, and noise whose true level differs from
// the stated one by about 15 %.
func film(f *flight.Flight, how filming, r *rand.Rand) filmed {
	level := how.noise * math.Exp(0.15*r.NormFloat64())
	step := 1 / how.rate
	first := (float64(how.rest) + r.Float64()) * step // first motion by the footage's clock
	shift := f.FirstMotion - first
	var in motion.Input
	in.Lane, in.Kind, in.Questions.DropCheck = 1, how.kind, how.dropped
	var seen, ahead float64 // s, true time of the last picture; stamps less true times
	var pictures []instant
	for i, at := range how.instants(how.rest+1+how.most, r) {
		h := how.heightAt(f, at.t+shift)
		if h > how.view {
			in.LeftView = true
			break
		}
		o := motion.Observation{Frame: i, T: at.stamp, H: h + level*r.NormFloat64(), U: how.noise}
		if at.repeat {
			o.H = in.Observations[i-1].H
		}
		in.Observations = append(in.Observations, o)
		seen = at.t
		pictures = append(pictures, at)
	}
	how.unknown(&in)
	// Times agree with the stamps where a tenth of the way in view is behind.
	if how.astray() { // on the average, if stamps jitter
		for _, p := range pictures {
			ahead += (p.stamp - p.t) / float64(len(pictures))
		}
	}
	for i, o := range in.Observations {
		if !how.uneven() && o.H >= 0.1*in.Observations[len(in.Observations)-1].H {
			ahead = pictures[i].stamp - pictures[i].t
			break
		}
	}
	if how.pixel > 0 {
		how.betweenPixels(f, shift, &in, r)
	}
	out := filmed{in: in, last: seen + shift}
	out.correlate(how.correlated, how.rest+1, r)
	_, top := f.PeakSpeed(out.last)
	out.speed = top * between(r, 0.3, 0.85)
	if top > 30 && r.IntN(2) == 0 {
		out.speed = 26.8224
	}
	out.gate = f.At(out.last).Height * between(r, 0.2, 0.9)
	out.in.Questions.Speeds, out.in.Questions.Gates = []float64{out.speed}, []float64{out.gate}
	out.truth = func(id string, arg float64) (float64, bool) {
		switch id {
		case motion.FirstMotion:
			return first + ahead, true
		case motion.TimeToSpeed:
			t, ok := f.SpeedReached(out.speed)
			return t - f.FirstMotion, ok
		case motion.PeakSpeed:
			return top, true
		case motion.GateCrossing:
			t, ok := f.HeightReached(out.gate)
			return t - shift + ahead, ok
		case motion.PeakAcceleration:
			_, a := f.PeakAcceleration(arg, out.last)
			return a, true
		case motion.FreeFallAcceleration:
			return flight.StandardGravity, true
		}
		return 0, false
	}
	return out
}
