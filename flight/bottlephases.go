package flight

import (
	"math"

	"padside/fault"
)

// bottleRun is a bottle in flight, between phases.
type bottleRun struct {
	Bottle
	flight *Flight
	shape  body

	t float64
	y vector // height, speed, -

	// The gas in the bottle at the start of the phase: absolute pressure, temperature,
	// volume and, where it counts, mass.
	p0, t0, v0, airMass float64
	volume              float64 // of gas now
}

// gasAt sets the gas at the start of a phase.
func (r *bottleRun) gasAt(pressure, temperature float64) {
	r.p0, r.t0, r.v0, r.volume = pressure, temperature, r.gas(), r.gas()
	r.airMass = pressure * r.v0 / (airGas * temperature)
}

// mass returns the mass of the vehicle with gas volume v: dry mass, water left, and gas.
func (r *bottleRun) mass(v float64) float64 {
	m := r.DryMass + waterDensity*(r.Volume-v)
	if !r.NoAirMass {
		m += r.airMass
	}
	return m
}

// pressure returns P0 (V0/V)^n.
func (r *bottleRun) pressure(v float64) float64 { return r.p0 * math.Pow(r.v0/v, r.Exponent) }

func (r *bottleRun) checkLift() error {
	force := 2 * r.Pressure * r.nozzle() * r.Discharge
	if r.Tube != nil {
		force = r.Pressure * math.Pi / 4 * r.Tube.Diameter * r.Tube.Diameter
	}
	if weight := r.mass(r.v0) * r.Site.Gravity; force <= weight {
		return fault.Requestf("raise the pressure, or use less water",
			"the bottle does not lift off: %.3g N of thrust against %.3g N of weight", force, weight)
	}
	return nil
}

// tube slides the bottle off its launch tube: force (P - Pa) At, the gas expanding by At x.
// What filled the tube stays behind with it.
func (r *bottleRun) tube() error {
	if r.Tube == nil {
		return nil
	}
	now := *r // the equations below must not see the phases that follow
	area := math.Pi / 4 * r.Tube.Diameter * r.Tube.Diameter
	pa, mass := r.Site.Air.Pressure, now.mass(now.v0)
	pressure := func(h float64) float64 { return now.pressure(now.v0 + area*math.Max(0, h)) }
	thrust := func(_ float64, y vector) float64 { return (pressure(y[0]) - pa) * area }
	sol, err := r.flight.run(LaunchTube, problem{
		field: func(t float64, y vector) vector {
			g, air := r.Site.at(y[0])
			return vector{y[1], (thrust(t, y)-r.shape.drag(air, y[1]))/mass - g, 0}
		},
		to: horizon, scale: flightScale,
		events: []func(float64, vector) float64{
			func(_ float64, y vector) float64 { return r.Tube.Length - y[0] },
			func(_ float64, y vector) float64 { return y[1] + 1e-9 }, // fell back
		},
	}, thrust)
	if err != nil {
		return err
	}
	if sol.event != 0 {
		return fault.Requestf("raise the pressure, or shorten the tube", "the bottle does not leave its launch tube")
	}
	p := pressure(r.Tube.Length)
	r.gasAt(p, r.t0*math.Pow(p/r.p0, 1-1/r.Exponent))
	r.t, r.y = sol.t, sol.y
	return nil
}

// spent is the excess pressure, relative to the air's, at which a jet counts as ended: its
// thrust is then below a millionth of a newton.
const spent = 1e-9

// water drives the water out until it is gone or the pressure is spent.
func (r *bottleRun) water() error {
	now := *r // the equations below must not see the phases that follow
	area, pa := r.nozzle(), r.Site.Air.Pressure
	excess := func(v float64) float64 { return math.Max(0, now.pressure(v)-pa) }
	thrust := func(_ float64, y vector) float64 { return 2 * r.Discharge * area * excess(y[2]) }
	sol, err := r.flight.run(Water, problem{
		field: func(t float64, y vector) vector {
			g, air := r.Site.at(y[0])
			flow := r.Discharge * area * math.Sqrt(2*excess(y[2])/waterDensity)
			return vector{y[1], (thrust(t, y)-r.shape.drag(air, y[1]))/now.mass(y[2]) - g, flow}
		},
		from: r.t, to: r.t + horizon, start: vector{r.y[0], r.y[1], r.v0},
		scale: vector{flightScale[0], flightScale[1], r.Volume},
		events: []func(float64, vector) float64{
			func(_ float64, y vector) float64 { return r.Volume - y[2] },
			func(_ float64, y vector) float64 { return now.pressure(y[2])/pa - 1 - spent },
		},
	}, thrust)
	if err != nil {
		return err
	}
	r.t, r.y, r.volume = sol.t, sol.y, sol.y[2]
	if sol.event == 0 {
		r.volume = r.Volume
	}
	return nil
}

// air lets the gas blow down through the nozzle once the water is gone: isentropic inside
// (T ~ m^(g-1), P ~ m^g), choked while Pa/P is below the critical ratio.
func (r *bottleRun) air() error {
	pa := r.Site.Air.Pressure
	p1 := r.pressure(r.volume)
	if r.NoAirThrust || r.volume < r.Volume || p1/pa-1 <= spent {
		return nil
	}
	t1 := r.t0 * math.Pow(r.v0/r.volume, r.Exponent-1)
	m1 := p1 * r.volume / (airGas * t1)
	inside := func(m float64) Air {
		q := math.Max(0, m/m1)
		return Air{Temperature: t1 * math.Pow(q, airGamma-1), Pressure: p1 * math.Pow(q, airGamma)}
	}
	area := r.nozzle() * r.Discharge
	thrust := func(_ float64, y vector) float64 {
		_, force := gasJet(inside(y[2]), pa, area)
		return force
	}
	sol, err := r.flight.run(AirJet, problem{
		field: func(_ float64, y vector) vector {
			flow, force := gasJet(inside(y[2]), pa, area)
			g, air := r.Site.at(y[0])
			return vector{y[1], (force-r.shape.drag(air, y[1]))/(r.DryMass+y[2]) - g, -flow}
		},
		from: r.t, to: r.t + horizon, start: vector{r.y[0], r.y[1], m1},
		scale: vector{flightScale[0], flightScale[1], m1},
		events: []func(float64, vector) float64{
			func(_ float64, y vector) float64 { return inside(y[2]).Pressure/pa - 1 - spent },
		},
	}, thrust)
	if err != nil {
		return err
	}
	r.t, r.y, r.airMass = sol.t, sol.y, sol.y[2]
	return nil
}

// gasJet returns mass flow (kg/s) and thrust (N) of air at rest inside that leaves through
// a convergent nozzle of the given effective area into pressure pa. One-dimensional,
// isentropic (J. D. Anderson, Modern Compressible Flow, chapter 5):
//
//	choked   Pa/P <= (2/(g+1))^(g/(g-1)):  throat at the speed of sound, F = m ue + (pe - Pa) A
//	unchoked ue^2 = 2 cp T (1 - (Pa/P)^((g-1)/g)),  F = m ue
func gasJet(in Air, pa, area float64) (flow, force float64) {
	const g = airGamma
	ratio := pa / in.Pressure
	if ratio >= 1 {
		return 0, 0
	}
	critical := math.Pow(2/(g+1), g/(g-1))
	pe := math.Max(pa, critical*in.Pressure)
	te := in.Temperature * math.Pow(pe/in.Pressure, (g-1)/g)
	ue := math.Sqrt(2 * g / (g - 1) * airGas * (in.Temperature - te))
	flow = area * pe / (airGas * te) * ue
	return flow, flow*ue + (pe-pa)*area
}
