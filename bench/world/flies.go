package main

import (
	"math"

	"padside/flight"
	"padside/scene"
)

// fly draws a vehicle of a kind and its flight.
func fly(c chance, kind string) (scene.Vehicle, *flight.Flight) {
	for {
		v, f, err := attempt(c, kind)
		if err == nil {
			return v, f
		}
	}
}

// attempt draws one that may not fly.
func attempt(c chance, kind string) (v scene.Vehicle, f *flight.Flight, err error) {
	switch kind {
	case "bottle":
		b := bottle(c)
		f, err = b.Fly()
		v = scene.Vehicle{Shape: scene.Bottle, Length: c.between(0.3, 0.75), Diameter: b.BodyDiameter, Pad: c.between(0.15, 0.6)}
		if err == nil {
			v.Exhaust = scene.Exhaust{Plume: scene.Spray, From: f.FirstMotion, To: f.EndOfThrust, Strength: c.between(0.4, 1.4)}
		}
	case "motor":
		length := c.scaled(0.35, 2)
		m := motor(c, length/c.between(11, 22))
		f, err = m.Fly()
		v = scene.Vehicle{Shape: scene.Rocket, Length: length, Diameter: m.BodyDiameter, Pad: c.between(0.2, 0.9)}
		if err == nil {
			v.Exhaust = scene.Exhaust{Plume: scene.Smoke, To: f.EndOfThrust, Strength: c.between(0.3, 1.3)}
		}
	default:
		high := c.between(1.4, 4)
		d := flight.Drop{Mass: c.scaled(0.02, 0.4), Diameter: c.between(0.04, 0.12), DragCoefficient: c.between(0.42, 0.52), Site: flight.StandardSite()}
		d.Height = high - d.Diameter
		f, err = d.Fly()
		v = scene.Vehicle{Shape: scene.Ball, Falls: true, Pad: high, Length: d.Diameter, Diameter: d.Diameter}
	}
	v.Motion = f
	return v, f, err
}

// bottle draws a water rocket, from a small one with a narrow nozzle to a large one with its whole neck open.
func bottle(c chance) flight.Bottle {
	volume := pick(c, 0.5e-3, 1e-3, 1.25e-3, 1.5e-3, 2e-3)
	return flight.Bottle{
		Volume: volume, Water: volume * c.between(0.15, 0.45), Pressure: c.between(2.5, 7.5) * 1e5, NozzleDiameter: c.between(9e-3, 21.7e-3),
		DryMass: c.between(0.07, 0.12) + volume*c.between(30, 60), BodyDiameter: math.Cbrt(volume/1e-3) * c.between(0.078, 0.09), DragCoefficient: c.between(0.3, 0.6),
		Exponent: c.between(1.15, 1.4), Discharge: c.between(0.88, 0.99), Site: flight.StandardSite(), WaterInertia: c.often(0.5),
	}
}

// motor draws a solid-motor rocket that leaves at 2 to 12 g. Its thrust begins with a foot, as the propellant catches, before it rises (common practice, no source).
func motor(c chance, diameter float64) flight.Motor {
	dry := c.scaled(0.05, 1) * math.Pow(diameter/0.04, 2)
	propellant := dry * c.between(0.05, 0.2)
	force := (dry + propellant) * (c.scaled(20, 120) + 9.8)
	burn, rise := c.scaled(0.4, 2.5), c.scaled(0.02, 0.07)
	peak := c.between(1.0, 1.5)
	return flight.Motor{
		Thrust: []flight.ThrustPoint{
			{Time: 0, Force: 0}, {Time: c.between(0.2, 0.5) * rise, Force: c.between(0.05, 0.25) * force}, {Time: rise, Force: 0.9 * peak * force},
			{Time: 1.5 * rise, Force: peak * force}, {Time: 0.35 * burn, Force: 1.05 * force}, {Time: 0.8 * burn, Force: 0.9 * force}, {Time: burn, Force: 0},
		},
		PropellantMass: propellant, DryMass: dry, BodyDiameter: diameter, DragCoefficient: c.between(0.4, 0.75), Site: flight.StandardSite(),
	}
}
