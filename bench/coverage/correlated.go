package main

import (
	"math"
	"math/rand/v2"

	"padside/flight"
	"padside/motion"
)

// Heights in flight whose errors are correlated from frame to frame, over a length that nobody
// states. It is drawn here by another way than package noise goes: as a sum of waves.

// correlated is a correlated error of heights in flight.
type correlated struct {
	size   float64 // m, its standard deviation; 0: there is none
	stated float64 // m, what the trace states of that
}

// waves is how many waves make one.
const waves = 300

// correlate adds the error to the heights in flight, of which the first is moving. Its waves have
// frequencies of Student's t distribution, of one degree of freedom or three, over its length: the
// spectral density of Matern's covariance of order 1/2 or 3/2 (Rasmussen & Williams, Gaussian
// Processes for Machine Learning, 2006, 4.2.1, from memory). The length is a thirtieth of the
// flight to all of it, in time or in height.
func (f *filmed) correlate(c correlated, moving int, r *rand.Rand) {
	obs := f.in.Observations
	if c.size == 0 || moving >= len(obs)-1 {
		return
	}
	dof, way := 1+2*r.IntN(2), r.IntN(2) == 0
	place := func(i int) float64 {
		if way {
			return obs[i].H
		}
		return obs[i].T
	}
	length := logBetween(r, 1./30, 1) * (place(len(obs)-1) - place(moving))
	var rate, phase [waves]float64
	for k := range rate {
		chi2 := 0.0
		for range dof {
			z := r.NormFloat64()
			chi2 += z * z
		}
		rate[k], phase[k] = r.NormFloat64()/math.Sqrt(chi2/float64(dof))/length, 2*math.Pi*r.Float64()
	}
	var errors []float64
	for i := moving; i < len(obs); i++ {
		sum := 0.0
		for k := range rate {
			sum += math.Cos(rate[k]*place(i) + phase[k])
		}
		errors = append(errors, c.size*math.Sqrt(2./waves)*sum)
	}
	for i, e := range errors {
		o := &obs[moving+i]
		o.H += e
		o.DoubtU = c.stated
	}
}

// correlatedClasses are footage with such errors, of one to four times the noise of a frame. What a
// trace states of their size is off by a factor of 1.4 (1 sd). What flies is stated, so that
// nothing but the errors is in question.
func correlatedClasses() []class {
	drawn := func(r *rand.Rand, how filming, stated bool) filming {
		c := correlated{size: how.noise * logBetween(r, 1, 4)}
		if stated {
			c.stated = c.size * math.Exp(0.35*r.NormFloat64())
		}
		how.correlated = c
		return how
	}
	bottles := func(stated bool) func(r *rand.Rand) (*flight.Flight, filming) {
		return func(r *rand.Rand) (*flight.Flight, filming) {
			how := filming{rate: between(r, 400, 1600), noise: logBetween(r, 0.05e-3, 0.3e-3), view: between(r, 1, 2.5), rest: 30, most: 600, kind: motion.Bottle}
			return bottle(r), drawn(r, how, stated)
		}
	}
	motors := func(stated bool) func(r *rand.Rand) (*flight.Flight, filming) {
		return func(r *rand.Rand) (*flight.Flight, filming) {
			how := filming{rate: 240, noise: logBetween(r, 0.5e-3, 2e-3), view: between(r, 3, 10), rest: 40, most: 400, kind: motion.Motor}
			return motor(r), drawn(r, how, stated)
		}
	}
	return []class{
		{name: "bottle, correlated error stated", draw: bottles(true)},
		{name: "bottle, correlated error not stated", draw: bottles(false)},
		{name: "motor, correlated error stated", draw: motors(true)},
		{name: "motor, correlated error not stated", draw: motors(false)},
	}
}
