package predict

import (
	"fmt"
	"math/rand/v2"

	"padside/fault"
	"padside/flight"
	"padside/logbook"
)

// Model makes flights of a flight file.
type Model struct{ File *logbook.FlightFile }

// Inputs are values by key, SI; Impulse is that of a motor given by its class, N s.
type Inputs struct {
	Value   map[string]float64
	Impulse float64
}

// Flown is one flight and what it started from.
type Flown struct {
	Flight *flight.Flight
	stored float64 // J, in the bottle
	class  flight.Motor
}

// Best are the inputs as stated.
func (m Model) Best() Inputs {
	in := Inputs{Value: map[string]float64{}}
	for _, i := range m.File.Inputs {
		in.Value[i.Key] = i.Quantity.Value
	}
	if m.File.Class != "" {
		least, most, _, _ := flight.MotorClass(m.File.Class)
		in.Impulse = (least + most) / 2
	}
	return in
}

// drawn are inputs drawn from their uncertainties: normal where stated, even over its class for an impulse.
func (m Model) drawn(r *rand.Rand) Inputs {
	in := m.Best()
	for _, i := range m.File.Inputs {
		z := r.NormFloat64() // drawn even where it is not used, so that one input's uncertainty does not change another's draws
		in.Value[i.Key] += i.Quantity.U * z
	}
	if m.File.Class != "" {
		least, most, _, _ := flight.MotorClass(m.File.Class)
		in.Impulse = least + (most-least)*r.Float64()
	}
	return in
}

// uncertain says whether any input is.
func (m Model) uncertain() bool {
	for _, i := range m.File.Inputs {
		if i.Quantity.U > 0 {
			return true
		}
	}
	return m.File.Class != ""
}

// Fly flies it whole.
func (m Model) Fly(in Inputs) (*Flown, error) {
	site, err := in.Site()
	if err != nil {
		return nil, err
	}
	w := &Flown{}
	if m.File.Kind == "bottle" {
		b := m.Bottle(in, site)
		if w.Flight, err = b.Fly(); err != nil {
			return nil, err
		}
		w.stored = b.StoredEnergy()
		return w, nil
	}
	w.class = m.motor(in, site)
	w.Flight, err = w.class.Fly()
	return w, err
}

// FlyUntil flies some seconds of it.
func (m Model) FlyUntil(in Inputs, until float64) (*flight.Flight, error) {
	site, err := in.Site()
	if err != nil {
		return nil, err
	}
	if m.File.Kind == "bottle" {
		return m.Bottle(in, site).FlyUntil(until)
	}
	return m.motor(in, site).FlyUntil(until)
}

// Site is where it is flown: what is not stated is the standard's.
func (in Inputs) Site() (flight.Site, error) {
	given := func(key string) *float64 {
		if v, ok := in.Value["site."+key]; ok {
			return &v
		}
		return nil
	}
	return flight.Conditions{Latitude: given("latitude"), Elevation: given("elevation"), Temperature: given("air_temperature"), Pressure: given("air_pressure")}.Site()
}

// Bottle is the bottle rocket with these inputs.
func (m Model) Bottle(in Inputs, site flight.Site) flight.Bottle {
	v := in.Value
	b := flight.Bottle{Volume: v["volume"], Water: v["water"], Pressure: v["pressure"], NozzleDiameter: v["nozzle_diameter"], DryMass: v["dry_mass"],
		BodyDiameter: v["body_diameter"], DragCoefficient: v["drag_coefficient"], Exponent: v["exponent"], Discharge: v["discharge"], WaterInertia: m.File.WaterInertia, Site: site}
	if m.File.Moist && b.Exponent == 0 {
		n, ok := flight.MoistExponent(b.Pressure+site.Air.Pressure, site.Air.Temperature)
		if ok {
			b.Exponent = n
		}
	}
	if l, ok := v["launch_tube.length"]; ok {
		b.Tube = &flight.Tube{Length: l, Diameter: v["launch_tube.diameter"]}
	}
	return b
}

// motor is the motor rocket; a thrust known by its mean alone rises and ends within a fiftieth of the burn.
func (m Model) motor(in Inputs, site flight.Site) flight.Motor {
	v := in.Value
	r := flight.Motor{PropellantMass: v["propellant_mass"], DryMass: v["dry_mass"], BodyDiameter: v["body_diameter"],
		DragCoefficient: v["drag_coefficient"], RodLength: v["rod_length"], Site: site}
	scale := 1.0
	if s, ok := v["thrust_scale"]; ok {
		scale = s
	}
	mean, burn := v["mean_thrust"], v["burn_time"]
	if m.File.Class != "" {
		_, _, mean, _ = flight.MotorClass(m.File.Class)
		burn = in.Impulse / mean
	}
	if m.File.Thrust == nil {
		const rise = 0.02
		top := mean / (1 - rise) * scale
		r.Thrust = []flight.ThrustPoint{{Time: 0}, {Time: rise * burn, Force: top}, {Time: (1 - rise) * burn, Force: top}, {Time: burn}}
		return r
	}
	for _, p := range m.File.Thrust {
		r.Thrust = append(r.Thrust, flight.ThrustPoint{Time: p.Time, Force: p.Force * scale})
	}
	return r
}

// Published burst pressures of drink bottles: the lowest is 140 psi (a 3 L bottle; Berggren & Youens 2002). Half of it is the most
// that this program will recommend.
const (
	psi          = 6894.757293168 // Pa (NIST SP 811, B.8)
	lowestBurst  = 140 * psi
	SafePressure = lowestBurst / 2
)

// Cautions are what must be said with every prediction.
func (m Model) Cautions(w *Flown, in Inputs) []fault.Warning {
	out := []fault.Warning{{Code: "no-clearance", Message: "a prediction is an estimate, not a clearance to fly: the local code, licensed practice and the range safety officer decide; wind is ignored"}}
	if m.File.Kind == "motor" {
		if w.HighPower() {
			out = append(out, fault.Warning{Code: "high-power", Message: "this motor counts as high power: it may only be bought and flown under certification and the code for it"})
		}
		return out
	}
	p := in.Value["pressure"]
	out = append(out, fault.Warning{Code: "stored-energy", Message: fmt.Sprintf(
		"%.0f J are stored at %.3g bar: prove the bottle full of water, from a distance, at 1.5 times that pressure; wear eye protection, stay 6 m away while it is pressurised (12 m above 4 bar), never lean over it, no metal parts", w.stored, p/1e5)})
	if p > SafePressure {
		out = append(out, fault.Warning{Code: "pressure-high", Message: fmt.Sprintf(
			"%.3g bar is more than half of the lowest published burst pressure of a drink bottle (%.3g bar): it is not recommended, whatever the model says of it", p/1e5, lowestBurst/1e5)})
	}
	return out
}

// HighPower says whether a motor that was flown counts as high power.
func (w *Flown) HighPower() bool {
	return flight.HighPower(w.class.Impulse(), w.class.Impulse()/(w.Flight.EndOfThrust-w.Flight.FirstMotion), w.class.PropellantMass)
}
