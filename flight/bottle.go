package flight

import (
	"math"

	"padside/fault"
)

// waterDensity is the density of the water driven out, kg/m3 (fresh water between 0 and
// 20 degrees Celsius is within 0.2 %).
const waterDensity = 1000.0

// Tube is a launch tube: a pipe that fills the nozzle while the bottle slides off it, so
// that the gas drives the bottle and no water is lost yet.
type Tube struct {
	Length   float64 // m, how far the bottle slides on it
	Diameter float64 // m, outer, at most the nozzle's
}

// Bottle is a water rocket. Zero values of Exponent, Discharge and Tube have the stated
// defaults; everything else must be given.
type Bottle struct {
	Volume          float64 // m3, inside
	Water           float64 // m3
	Pressure        float64 // Pa, gauge, at release
	NozzleDiameter  float64 // m
	DryMass         float64 // kg, everything but water and air
	BodyDiameter    float64 // m
	DragCoefficient float64 // of the body's cross-section
	Exponent        float64 // of the gas while it drives water or tube: P V^n constant; 0: 1.4
	Discharge       float64 // of the nozzle: flow over ideal flow, up to 1; 0: 1. Up to 1.5 is computed, for fits that must see beyond
	Tube            *Tube
	Site            Site

	// WaterInertia counts what it takes to speed up the water in the bottle, and the weight of the water in the accelerating
	// bottle, which press it out. Without it the jet has at once the speed that the pressure sustains.
	WaterInertia bool

	// Two parts of the model that simpler published ones leave out.
	NoAirThrust bool // thrust ends with the last water
	NoAirMass   bool // the gas weighs nothing while it drives water
}

func (b Bottle) withDefaults() Bottle {
	if b.Exponent == 0 {
		b.Exponent = airGamma
	}
	if b.Discharge == 0 {
		b.Discharge = 1
	}
	return b
}

// nozzle returns the nozzle's cross-section, m2.
func (b Bottle) nozzle() float64 { return math.Pi / 4 * b.NozzleDiameter * b.NozzleDiameter }

// gas returns the volume of gas at release, m3.
func (b Bottle) gas() float64 { return b.Volume - b.Water }

// StoredEnergy returns the most work the gas can do while it expands to the air's pressure
// without exchange of heat, J:
//
//	W = P0 V0/(g-1) (1 - (Pa/P0)^((g-1)/g)) - Pa V0 ((P0/Pa)^(1/g) - 1)
//
// No flight of this bottle can carry more kinetic energy. This is also what a burst sets free.
func (b Bottle) StoredEnergy() float64 {
	pa, v0 := b.Site.Air.Pressure, b.gas()
	p0 := b.Pressure + pa
	const g = airGamma
	return p0*v0/(g-1)*(1-math.Pow(pa/p0, (g-1)/g)) - pa*v0*(math.Pow(p0/pa, 1/g)-1)
}

// CheckSpeed refuses a speed that this bottle cannot have reached: one whose kinetic energy,
// with the dry mass alone, is more than StoredEnergy.
func (b Bottle) CheckSpeed(speed float64) error {
	need, have := 0.5*b.DryMass*speed*speed, b.StoredEnergy()
	if need <= have {
		return nil
	}
	return fault.Requestf("check volume, water, pressure (gauge), dry mass and the scale of the footage",
		"%.4g m/s needs %.0f J for a dry mass of %.4g kg, but the gas can give at most %.0f J", speed, need, b.DryMass, have)
}

// validate refuses inputs that are not a bottle.
func (b Bottle) validate() error {
	for _, q := range []struct {
		name     string
		value    float64
		min, max float64
		unit     string
	}{
		{"volume", b.Volume, 1e-5, 1, "m3"},
		{"pressure", b.Pressure, 100, 5e6, "Pa gauge"},
		{"nozzle diameter", b.NozzleDiameter, 5e-4, 0.5, "m"},
		{"dry mass", b.DryMass, 1e-3, 100, "kg"},
		{"body diameter", b.BodyDiameter, 5e-3, 2, "m"},
		{"drag coefficient", b.DragCoefficient, -1, 5, ""}, // below 0: for fits that must see beyond
		{"exponent", b.Exponent, 0.8, 2, ""},               // the same beyond 1 to 1.4
		{"discharge", b.Discharge, 0.05, 1.5, ""},
	} {
		if !(q.value >= q.min && q.value <= q.max) {
			return outside(q.name, q.value, q.min, q.max, q.unit)
		}
	}
	if !(b.Water > 0 && b.Water < b.Volume) {
		return fault.Requestf("fill the bottle partly: a third of its volume is usual",
			"water of %.4g L does not fit a bottle of %.4g L", b.Water*1e3, b.Volume*1e3)
	}
	if b.NozzleDiameter > b.BodyDiameter {
		return fault.Requestf("check both diameters and their units", "a nozzle of %.4g mm is wider than the body of %.4g mm", b.NozzleDiameter*1e3, b.BodyDiameter*1e3)
	}
	if t := b.Tube; t != nil && !(t.Length > 0 && t.Diameter > 0 && t.Diameter <= b.NozzleDiameter) {
		return fault.Requestf("give a length above 0 and a diameter of at most the nozzle's",
			"a launch tube of %.4g mm by %.4g mm does not fit a nozzle of %.4g mm", t.Length*1e3, t.Diameter*1e3, b.NozzleDiameter*1e3)
	}
	return b.Site.validate()
}

func outside(name string, value, lo, hi float64, unit string) error {
	if unit != "" {
		unit = " " + unit
	}
	return fault.Requestf("check the number and its unit", "%s of %g%s is outside %g to %g%s", name, value, unit, lo, hi, unit)
}

// Fly computes the flight, released at t = 0: launch tube where there is one, water, air,
// coast. Water is driven out by P V^n = constant with jet speed u = sqrt(2 (P-Pa)/rho),
// thrust = discharge rho A u^2; then the air follows, choked at first.
func (b Bottle) Fly() (*Flight, error) { return b.FlyUntil(0) }

// FlyUntil computes the flight up to the time until, s, and no further; 0 follows it to its end. What lies beyond is not known to
// the Flight: its End is until.
func (b Bottle) FlyUntil(until float64) (*Flight, error) {
	b = b.withDefaults()
	if err := b.validate(); err != nil {
		return nil, err
	}
	r := &bottleRun{Bottle: b, flight: &Flight{until: until}, around: surround(b.Site, body{b.BodyDiameter, b.DragCoefficient})}
	r.gasAt(b.Pressure+b.Site.Air.Pressure, b.Site.Air.Temperature)
	if err := r.checkLift(); err != nil {
		return nil, err
	}
	water := r.water
	if b.WaterInertia {
		water = r.heavyWater
	}
	for _, phase := range []func() error{r.tube, water, r.air} {
		if r.flight.cut(r.t) {
			break
		}
		if err := phase(); err != nil {
			return nil, err
		}
	}
	f := r.flight
	f.EndOfThrust = r.t
	if err := f.coast(r.around, r.mass(r.volume), r.t, r.y); err != nil {
		return nil, err
	}
	_, v := f.PeakSpeed(math.Inf(1))
	if err := b.CheckSpeed(v); err != nil {
		return nil, err
	}
	f.warnTransonic(v, b.Site)
	return f, nil
}
