package scene

import (
	"fmt"
	"math"

	"padside/flight"
	"padside/timebase"
)

// BottleOptions says what is to be the same from seed to seed; zero values are drawn.
type BottleOptions struct {
	Rate      float64 // Hz; 0: 1000 to 2000
	Frames    int     // 0: until the nose has left the picture, and a few more
	Width     int     // px; 0: 448
	Height    int     // px; 0: 1120
	Water     float64 // m3; 0: 14 to 42 % of the bottle
	Pressure  float64 // Pa gauge; 0: 4 to 6.5 bar
	Lanes     int     // vehicles side by side; 0: 1
	Shake     float64 // px
	Colour    bool    // a colour sensor in place of one channel
	SameSetup bool    // camera, light and field from SetupSeed, so that launches share a setup
	SetupSeed uint64
	Bottle    *flight.Bottle // the vehicle; nil: drawn
	Name      string         // the vehicle's; empty: drawn
	Look      uint64         // seed of the vehicle's length and colours; 0: as drawn with the launch
}

// BottleRocket is a bottle rocket filmed by a high-speed camera on its side at 1000 to
// 2000 Hz: one channel, 8 bits, global shutter, about 2 m of flight in view.
func BottleRocket(seed uint64, o BottleOptions) *Take {
	c := newChance(seed, 0x626f74746c65)
	setup := c
	if o.SameSetup {
		setup = newChance(o.SetupSeed, 0x7365747570)
	}
	s := bottleSetup(setup, o)
	s.Seed = seed
	if o.SameSetup {
		s.Seed, s.Launch = o.SetupSeed, seed // the same grass, another day's noise
	}
	s.Wind = c.between(-1.2, 1.2)
	hz := o.Rate
	if hz == 0 {
		hz = pick(setup, 1000., 1250., 1600., 2000.)
	}
	t := &Take{Scene: s, Basis: timebase.Rate, Hz: hz, Speeds: []float64{10, 60 * 0.44704, 100 / 3.6}, Gravity: flight.StandardGravity}
	lanes := max(1, o.Lanes)
	for n := range lanes {
		v, name, f, conditions := bottleVehicle(c, o)
		v.Range = s.Vehicles[0].Range
		v.Across = 0.03 + (float64(n)-float64(lanes-1)/2)*0.34
		v.Start = (c.between(24, 34) + float64(n)*c.between(-4, 4)) / hz
		s.Vehicles = append(s.Vehicles, v)
		t.Vehicles, t.Flights = append(t.Vehicles, name), append(t.Flights, f)
		if n == 0 {
			t.Conditions = conditions
			t.Title = fmt.Sprintf("%s, %s at %s", name, conditions[0].Value, conditions[1].Value)
		}
	}
	s.Vehicles = s.Vehicles[1:]
	t.Traced = s.Vehicles[0].Length
	frames := o.Frames
	if frames == 0 {
		frames = framesUntilGone(t, hz, 8, 320)
	}
	s.Stamps = Rate(frames, hz)
	for h := 0.2; h < 2.05; h += 0.2 {
		t.Gates = append(t.Gates, math.Round(h*10)/10)
	}
	return t
}

// bottleSetup draws camera, light, field and rod. The scene's one vehicle only carries the
// pad's range.
func bottleSetup(c chance, o BottleOptions) *Scene {
	w, h := o.Width, o.Height
	if w == 0 {
		w = 448
	}
	if h == 0 {
		h = 1120
	}
	distance, view := c.between(6.5, 9.5), c.between(2.25, 2.55)
	cam := Camera{
		Width: w, Height: h, PixelPitch: 6.6e-6, Elevation: c.between(0.75, 1.05), Across: c.between(-0.05, 0.05),
		Tilt: c.between(2, 5) * math.Pi / 180, Roll: c.between(-0.4, 0.4) * math.Pi / 180,
		Exposure: 1 / pick(c, 4000., 6000., 8000.), Blur: c.between(0.5, 0.75), Shake: o.Shake,
	}
	cam.FocalLength = distance / view * float64(h) * cam.PixelPitch
	// Aim so that the bottom of the picture shows the ground in front of the pad.
	cam.Tilt = math.Atan((view/2 - 0.08 - cam.Elevation) / distance)
	return &Scene{
		Camera: cam, Light: c.light(), Backdrop: c.field(c.between(2.5, 5)),
		Sensor: Sensor{Depth: 8, FullWell: c.between(6000, 14000), ReadNoise: c.between(8, 20), Gamma: 1.8, Mono: !o.Colour},
		Rod: &Rod{Across: c.between(-0.40, -0.32), Range: distance + c.between(-0.25, 0.15),
			Base: 0.12, Length: 2, Band: 0.1, Width: 0.045},
		Vehicles: []Vehicle{{Range: distance}},
	}
}

func bottleVehicle(c chance, o BottleOptions) (Vehicle, string, *flight.Flight, []Condition) {
	b := drawnBottle(c, o)
	if o.Bottle != nil {
		b = *o.Bottle
	}
	f := orFlight(b.Fly())
	look := c
	if o.Look != 0 {
		look = newChance(o.Look, 0x6c6f6f6b)
	}
	name := look.name()
	if o.Name != "" {
		name = o.Name
	}
	v := Vehicle{
		Motion: f, Pad: 0.24, Shape: Bottle, Length: look.between(0.40, 0.50), Diameter: b.BodyDiameter,
		Livery: look.livery(), Launcher: true, Slant: c.between(-0.6, 0.6) * math.Pi / 180, Lean: c.between(-1, 1) * math.Pi / 180,
		Exhaust: Exhaust{Plume: Spray, From: f.FirstMotion, To: f.EndOfThrust},
	}
	return v, name, f, []Condition{
		{"water", fmt.Sprintf("%.0f mL", b.Water*1e6)}, {"pressure", fmt.Sprintf("%.1f bar", b.Pressure/1e5)},
		{"dry_mass", fmt.Sprintf("%.0f g", b.DryMass*1e3)},
	}
}

// drawnBottle draws a bottle that lifts off briskly.
func drawnBottle(c chance, o BottleOptions) flight.Bottle {
	volume := pick(c, 0.75e-3, 1e-3, 1.25e-3)
	b := flight.Bottle{
		Volume: volume, Water: o.Water, Pressure: o.Pressure, NozzleDiameter: pick(c, 9e-3, 13e-3, 15e-3),
		DryMass: c.between(0.11, 0.16), BodyDiameter: c.between(0.078, 0.09), DragCoefficient: c.between(0.3, 0.5),
		Exponent: c.between(1.2, 1.36), Discharge: c.between(0.92, 0.99), Site: flight.StandardSite(),
	}
	if b.Water == 0 {
		b.Water = math.Round(volume*c.between(0.14, 0.42)*1e6/10) * 10e-6
	}
	if b.Pressure == 0 {
		b.Pressure = math.Round(c.between(4, 6.5)*10) * 1e4
	}
	// Wide nozzles only, where the thrust would otherwise be a trickle: 25 to 60 g off the pad.
	for 2*b.Pressure*math.Pi/4*b.NozzleDiameter*b.NozzleDiameter < 240*(b.DryMass+1000*b.Water) {
		b.NozzleDiameter += 0.5e-3
	}
	return b
}

// framesUntilGone returns how many frames it takes until every traced point has left the
// picture, and extra ones, at most limit.
func framesUntilGone(t *Take, hz float64, extra, limit int) int {
	s := t.Scene
	s.Stamps = Rate(limit, hz)
	last := 0.0
	for n := range s.Vehicles {
		last = max(last, s.LastInView(n+1, t.Traced))
	}
	return min(limit, int(math.Ceil(last*hz))+extra)
}
