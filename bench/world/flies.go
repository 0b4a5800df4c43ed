package main

import (
	"padside/bench/takes"
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
		b := takes.Bottle(c.Rand)
		f, err = b.Fly()
		v = scene.Vehicle{Shape: scene.Bottle, Length: c.between(0.3, 0.75), Diameter: b.BodyDiameter, Pad: c.between(0.15, 0.6)}
		if err == nil {
			v.Exhaust = scene.Exhaust{Plume: scene.Spray, From: f.FirstMotion, To: f.EndOfThrust, Strength: c.between(0.4, 1.4)}
		}
	case "motor":
		length := c.scaled(0.35, 2)
		m := takes.Motor(c.Rand, length/c.between(11, 22))
		f, err = m.Fly()
		v = scene.Vehicle{Shape: scene.Rocket, Length: length, Diameter: m.BodyDiameter, Pad: c.between(0.2, 0.9)}
		if err == nil {
			v.Exhaust = scene.Exhaust{Plume: scene.Smoke, To: f.EndOfThrust, Strength: c.between(0.3, 1.3)}
		}
	default:
		high := c.between(1.4, 4)
		d := takes.Ball(c.Rand, high)
		f, err = d.Fly()
		v = scene.Vehicle{Shape: scene.Ball, Falls: true, Pad: high, Length: d.Diameter, Diameter: d.Diameter}
	}
	v.Motion = f
	return v, f, err
}
