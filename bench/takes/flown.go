package takes

import (
	"math"
	"math/rand/v2"

	"padside/flight"
)

// Flights as people launch them, drawn over the whole range.

// Bottle draws a water rocket, from a small one with a narrow nozzle to a large one with its whole
// neck open. In one of two the water has to gather speed first, so that it begins with a jolt.
func Bottle(r *rand.Rand) flight.Bottle {
	volumes := [...]float64{0.5e-3, 1e-3, 1.25e-3, 1.5e-3, 2e-3} // m3
	volume := volumes[r.IntN(len(volumes))]
	return flight.Bottle{
		Volume: volume, Water: volume * between(r, 0.15, 0.45), Pressure: between(r, 2.5, 7.5) * 1e5, NozzleDiameter: between(r, 9e-3, 21.7e-3),
		DryMass: between(r, 0.07, 0.12) + volume*between(r, 30, 60), BodyDiameter: math.Cbrt(volume/1e-3) * between(r, 0.078, 0.09), DragCoefficient: between(r, 0.3, 0.6),
		Exponent: between(r, 1.15, 1.4), Discharge: between(r, 0.88, 0.99), Site: flight.StandardSite(), WaterInertia: r.Float64() < 0.5,
	}
}

// Motor draws a solid-motor rocket of a diameter, m, that leaves at 2 to 12 g. Its thrust begins
// with a foot, as the propellant catches, before it rises (common practice, no source).
func Motor(r *rand.Rand, diameter float64) flight.Motor {
	dry := scaled(r, 0.05, 1) * math.Pow(diameter/0.04, 2)
	propellant := dry * between(r, 0.05, 0.2)
	force := (dry + propellant) * (scaled(r, 20, 120) + 9.8)
	burn, rise := scaled(r, 0.4, 2.5), scaled(r, 0.02, 0.07)
	peak := between(r, 1.0, 1.5)
	return flight.Motor{
		Thrust: []flight.ThrustPoint{
			{Time: 0, Force: 0}, {Time: between(r, 0.2, 0.5) * rise, Force: between(r, 0.05, 0.25) * force}, {Time: rise, Force: 0.9 * peak * force},
			{Time: 1.5 * rise, Force: peak * force}, {Time: 0.35 * burn, Force: 1.05 * force}, {Time: 0.8 * burn, Force: 0.9 * force}, {Time: burn, Force: 0},
		},
		PropellantMass: propellant, DryMass: dry, BodyDiameter: diameter, DragCoefficient: between(r, 0.4, 0.75), Site: flight.StandardSite(),
	}
}

// Ball draws a ball whose top is let go high above the ground, m: from a light one to one of wood.
func Ball(r *rand.Rand, high float64) flight.Drop {
	d := flight.Drop{Mass: scaled(r, 0.02, 0.4), Diameter: between(r, 0.04, 0.12), DragCoefficient: between(r, 0.42, 0.52), Site: flight.StandardSite()}
	d.Height = high - d.Diameter
	return d
}

// between draws evenly from [lo, hi).
func between(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

// scaled draws from [lo, hi), each factor as likely as the other.
func scaled(r *rand.Rand, lo, hi float64) float64 { return lo * math.Pow(hi/lo, r.Float64()) }
