package scene

import (
	"fmt"
	"math"

	"padside/flight"
	"padside/timebase"
)

// motorFlight draws a solid-motor rocket: how long its view is, what its thrust does to it.
func motorFlight(c chance, acceleration float64) (flight.Motor, *flight.Flight) {
	dry := c.between(0.6, 1.6)
	propellant := dry * c.between(0.06, 0.12)
	force := (dry + propellant) * (acceleration + 9.8)
	burn := c.between(0.9, 1.8)
	rise := c.between(0.03, 0.07)
	m := flight.Motor{
		Thrust: []flight.ThrustPoint{
			{Time: 0, Force: 0}, {Time: 0.4 * rise, Force: 0.12 * force}, {Time: rise, Force: 0.8 * force}, {Time: 1.6 * rise, Force: 1.02 * force},
			{Time: 0.35 * burn, Force: 1.08 * force}, {Time: 0.8 * burn, Force: 0.92 * force}, {Time: burn, Force: 0},
		},
		PropellantMass: propellant, DryMass: dry, BodyDiameter: c.between(0.055, 0.08), DragCoefficient: c.between(0.45, 0.65),
		RodLength: 1.5, Site: flight.StandardSite(),
	}
	return m, orFlight(m.Fly())
}

func motorVehicle(c chance, distance, acceleration float64) (Vehicle, flight.Motor, *flight.Flight) {
	m, f := motorFlight(c, acceleration)
	return Vehicle{
		Motion: f, Range: distance, Pad: 0.45, Shape: Rocket, Length: c.between(1.0, 1.4), Diameter: m.BodyDiameter,
		Livery: c.livery(), Launcher: true, Slant: c.between(-1.5, 1.5) * math.Pi / 180, Lean: c.between(-2, 2) * math.Pi / 180,
		Exhaust: Exhaust{Plume: Smoke, From: 0, To: f.EndOfThrust},
	}, m, f
}

// motorTake is what the three takes of motor rockets share: camera aimed from the pad's foot
// upward so that view metres are seen.
func motorTake(c chance, seed uint64, view, acceleration float64, cam Camera) *Take {
	distance := view * c.between(1.6, 2.2)
	cam.Elevation = c.between(1.1, 1.6)
	cam.FocalLength = distance / view * float64(cam.Height) * cam.PixelPitch
	cam.Tilt = math.Atan((view/2 - 0.06*view - cam.Elevation) / distance)
	cam.FocalLength /= math.Cos(cam.Tilt)
	cam.Roll = c.between(-0.6, 0.6) * math.Pi / 180
	v, m, f := motorVehicle(c, distance, acceleration)
	v.Across = c.between(-0.02, 0.06) * view
	s := &Scene{
		Camera: cam, Light: c.light(), Backdrop: c.field(c.between(0.4, 1.2)),
		Rod: &Rod{Across: v.Across - 0.16*view, Range: distance * c.between(0.975, 1.02), Base: 0.1,
			Length: math.Round(0.75*view/0.5) * 0.5, Band: 0.25, Width: 0.012 * view},
		Vehicles: []Vehicle{v}, Wind: c.between(-2.5, 2.5), Seed: seed,
	}
	if cam.Height < 1000 {
		s.Rod.Band = 0.5
	}
	name := c.name()
	t := &Take{
		Scene: s, Title: fmt.Sprintf("%s, %.0f N s", name, m.Impulse()), Vehicles: []string{name}, Flights: []*flight.Flight{f},
		Conditions: []Condition{{"liftoff_mass", fmt.Sprintf("%.0f g", (m.DryMass+m.PropellantMass)*1e3)}, {"impulse", fmt.Sprintf("%.0f N s", m.Impulse())}},
		Traced:     v.Length,
		Gravity:    m.Site.Gravity,
	}
	for h := 1.0; h < 0.8*view; h++ {
		t.Gates = append(t.Gates, h)
	}
	return t
}

// MotorRocket is a solid-motor rocket filmed in slow motion at 240 Hz in colour, rolling
// shutter, from a tripod; about 10 m in view.
func MotorRocket(seed uint64) *Take {
	c := newChance(seed, 0x6d6f746f72)
	cam := Camera{Width: 540, Height: 960, PixelPitch: 2.8e-6, Exposure: 1 / pick(c, 1500., 2000., 3000.),
		RowTime: c.between(2e-6, 3.5e-6), Blur: c.between(0.55, 0.8), Shake: c.between(0.05, 0.3)}
	t := motorTake(c, seed, c.between(8, 12), c.between(35, 80), cam)
	t.Scene.Sensor = Sensor{Depth: 8, FullWell: c.between(2500, 6000), ReadNoise: 5, Gamma: 2.2}
	t.Basis, t.Hz, t.Speeds = timebase.Rate, 240, []float64{10, 60 * 0.44704}
	t.Scene.Vehicles[0].Start = c.between(40, 60) / 240
	t.Scene.Stamps = Rate(framesUntilGone(t, 240, 6, 240), 240)
	return t
}

// PhoneClip30 is a motor rocket filmed by a hand-held phone at 30 Hz, rolling shutter,
// with stamps of varying spacing; about 14 m in view.
func PhoneClip30(seed uint64) *Take {
	c := newChance(seed, 0x70686f6e65)
	cam := Camera{Width: 720, Height: 1280, PixelPitch: 1.4e-6, Exposure: 1 / pick(c, 1000., 1500., 2500.),
		RowTime: c.between(9e-6, 15e-6), K1: c.between(-0.04, 0.01), Blur: c.between(0.6, 0.9), Shake: c.between(0.5, 2)}
	t := motorTake(c, seed, c.between(11, 16), c.between(18, 40), cam)
	t.Scene.Sensor = Sensor{Depth: 8, FullWell: c.between(2000, 5000), ReadNoise: 4, Gamma: 2.2}
	t.Basis, t.Speeds = timebase.Container, []float64{10, 20}
	t.Scene.Vehicles[0].Start = c.between(12, 20) / 30
	frames := framesUntilGone(t, 30, 5, 90)
	t.Scene.Stamps = jittered(c, frames, 30, 1e-3, 90000)
	return t
}

// StillsBurst is a motor rocket caught by a burst of stills at 8 to 10 Hz whose spacing is
// not even; 5 to 9 m in view, so that it is seen moving in a few frames only.
func StillsBurst(seed uint64) *Take {
	c := newChance(seed, 0x6275727374)
	cam := Camera{Width: 800, Height: 1200, PixelPitch: 22e-6, Exposure: 1 / pick(c, 2000., 3200., 4000.),
		RowTime: c.between(1.5e-6, 4e-6), K1: c.between(-0.03, 0.03), Blur: c.between(0.5, 0.7), Shake: c.between(0, 0.3)}
	t := motorTake(c, seed, c.between(5, 9), c.between(15, 55), cam)
	t.Scene.Sensor = Sensor{Depth: 8, FullWell: c.between(15000, 40000), ReadNoise: 6, Gamma: 2.2}
	t.Basis, t.Speeds = timebase.EXIF, []float64{5, 10}
	hz := c.between(8, 10)
	t.Scene.Vehicles[0].Start = c.between(2.2, 3.8) / hz
	frames := framesUntilGone(t, hz, 2, 30)
	t.Scene.Stamps = jittered(c, frames, hz, 2e-3, 1000)
	return t
}

// jittered returns stamps about 1/hz apart, each off by sd seconds, on a clock of ticks per second.
func jittered(c chance, n int, hz, sd, ticks float64) []float64 {
	t := make([]float64, n)
	for i := range t {
		at := float64(i)/hz + sd*max(-3, min(3, c.NormFloat64()))
		t[i] = math.Round(at*ticks) / ticks
	}
	first := t[0]
	for i := range t {
		t[i] -= first
	}
	return t
}
