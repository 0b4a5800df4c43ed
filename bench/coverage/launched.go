package main

import (
	"math"
	"math/rand/v2"

	"padside/bench/takes"
	"padside/flight"
	"padside/motion"
)

// launchedClasses are flights as people launch and film them (package takes): bottles that begin
// with a jolt, or not, and motors whose thrust begins with a foot. Their traces err as those of coded
// clips do: by noise, by what all frames at rest err by together, between pixels, and by what
// neighbours in flight have together.
func launchedClasses() []class {
	bottles := func(rates ...float64) func(r *rand.Rand) (*flight.Flight, filming) {
		return func(r *rand.Rand) (*flight.Flight, filming) {
			return launched(r, motion.Bottle, rates, func() (*flight.Flight, float64, error) {
				f, err := takes.Bottle(r).Fly()
				return f, between(r, 0.3, 0.75), err
			})
		}
	}
	motors := func(rates ...float64) func(r *rand.Rand) (*flight.Flight, filming) {
		return func(r *rand.Rand) (*flight.Flight, filming) {
			return launched(r, motion.Motor, rates, func() (*flight.Flight, float64, error) {
				length := logBetween(r, 0.35, 2)
				f, err := takes.Motor(r, length/between(r, 11, 22)).Fly()
				return f, length, err
			})
		}
	}
	balls := func(rates ...float64) func(r *rand.Rand) (*flight.Flight, filming) {
		return func(r *rand.Rand) (*flight.Flight, filming) { return letGo(r, rates) }
	}
	return []class{
		{name: "bottle as launched, 240 fps", draw: bottles(240)},
		{name: "bottle as launched, 480 to 2000 fps", draw: bottles(480, 1000, 2000)},
		{name: "motor as launched, 240 fps", draw: motors(240)},
		{name: "motor as launched, 30 to 120 fps", draw: motors(30, 60, 120)},
		{name: "ball let go, 30 to 120 fps", draw: balls(30, 60, 120)},
		{name: "ball let go, 240 and 480 fps", draw: balls(240, 480)},
	}
}

// launched films a flight of a vehicle of 45 to 220 px, in a picture 300 to 700 px high, that shows
// 5 frames of it or more. In six of ten the kind is stated.
func launched(r *rand.Rand, kind motion.Kind, rates []float64, fly func() (*flight.Flight, float64, error)) (*flight.Flight, filming) {
	for {
		f, length, err := fly()
		pixel := length / logBetween(r, 45, 220)
		how := coded(r, pixel, rates)
		if how.view = pixel*between(r, 300, 700) - 2*length; r.IntN(10) < 6 {
			how.kind = kind
		}
		if err != nil || how.view < 0.1 {
			continue
		}
		gone, ok := f.HeightReached(how.view)
		if frames := (gone - f.FirstMotion) * how.rate; ok && frames > 5 && frames < 750 {
			return f, how
		}
	}
}

// letGo films all of the fall of a ball, in a picture 300 to 700 px high, up to six frames before it
// lands; what gravity it shows is asked for.
func letGo(r *rand.Rand, rates []float64) (*flight.Flight, filming) {
	for {
		high := between(r, 1.4, 4)
		f, err := takes.Ball(r, high).Fly()
		how := coded(r, high*between(r, 1.12, 1.5)/between(r, 300, 700), rates)
		how.kind, how.dropped = motion.Dropped, true
		if err != nil {
			continue
		}
		how.view = f.At(f.End - 6/how.rate).Height
		return f, how
	}
}

// coded is how a clip shows what has one of some rates, in pixels of a size, m.
func coded(r *rand.Rand, pixel float64, rates []float64) filming {
	how := filming{rate: rates[r.IntN(len(rates))], rest: 9 + r.IntN(36), most: 250,
		pixel: pixel, biased: true, exposure: logBetween(r, 0.02, 0.35), restU: 0.034 * pixel}
	how.noise = pixel * logBetween(r, 0.01, 0.1)
	size := how.noise * logBetween(r, 0.3, 3)
	how.correlated = correlated{size: size, stated: size * math.Exp(0.35*r.NormFloat64())}
	return how
}
