package flight

import (
	"math"

	"padside/fault"
)

// bottleRun is a bottle in flight, between phases.
type bottleRun struct {
	Bottle
	flight *Flight
	around *around

	t float64
	y vector // height, speed

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
			g, drag := r.around.at(y[0], y[1])
			return vector{y[1], (thrust(t, y)-drag)/mass - g}
		},
		to: r.flight.limit(0), scale: flightScale,
		events: []func(float64, vector) float64{
			func(_ float64, y vector) float64 { return r.Tube.Length - y[0] },
			func(_ float64, y vector) float64 { return y[1] + 1e-9 }, // fell back
		},
	}, thrust, func(float64, vector) float64 { return mass })
	if err != nil {
		return err
	}
	if sol.event < 0 && r.flight.cut(sol.t) {
		r.t, r.y = sol.t, sol.y
		return nil
	}
	if sol.event != 0 {
		return fault.Requestf("raise the pressure, or shorten the tube", "the bottle does not leave its launch tube")
	}
	p := pressure(r.Tube.Length)
	r.gasAt(p, r.t0*math.Pow(p/r.p0, 1-1/r.Exponent))
	r.t, r.y = sol.t, sol.y
	return nil
}

// water drives the water out until it is gone or the pressure is spent. The jet's speed u is carried along in place of the
// pressure, P = Pa + rho u^2/2: it falls smoothly to zero where the gas is spent, and needs no power of the volume V. From
// P V^n = constant and dV/dt = c A u, with discharge c,
//
//	du/dt = -n P c A / (rho V)
func (r *bottleRun) water() error {
	now := *r // the equations below must not see the phases that follow
	area, pa := r.nozzle()*r.Discharge, r.Site.Air.Pressure
	thrust := func(_ float64, y vector) float64 { return waterDensity * area * y[2] * y[2] }
	jet := math.Sqrt(2 * math.Max(0, now.p0-pa) / waterDensity)
	sol, err := r.flight.run(Water, problem{
		field: func(_ float64, y vector) vector {
			g, drag := r.around.at(y[0], y[1])
			u := y[2]
			p := pa + waterDensity*u*u/2
			return vector{y[1], (waterDensity*area*u*u-drag)/now.mass(y[3]) - g, -now.Exponent * p * area / (waterDensity * y[3]), area * u}
		},
		from: r.t, to: r.flight.limit(r.t), start: vector{r.y[0], r.y[1], jet, r.v0},
		scale: vector{flightScale[0], flightScale[1], jet, r.Volume},
		events: []func(float64, vector) float64{
			func(_ float64, y vector) float64 { return r.Volume - y[3] },
			func(_ float64, y vector) float64 { return y[2] },
		},
	}, thrust, func(_ float64, y vector) float64 { return now.mass(y[3]) })
	if err != nil {
		return err
	}
	r.drained(sol, 3)
	return nil
}

// drained takes over the end of the water; v is where the state holds the gas volume.
func (r *bottleRun) drained(sol solution, v int) {
	r.t, r.y, r.volume = sol.t, sol.y, sol.y[v]
	if sol.event == 0 {
		r.volume = r.Volume
	}
}

// air lets the gas blow down through the nozzle once the water is gone, choked while Pa/P is below the critical ratio
// (2/(g+1))^(g/(g-1)). One-dimensional and isentropic: inside T ~ m^(g-1), P ~ m^g; J. D. Anderson, Modern Compressible Flow,
// chapter 5:
//
//	choked    throat at the speed of sound, T* = 2 T/(g+1), flow = A P*/(R T*) sqrt(g R T*),  F = flow ue + (P* - Pa) A
//	unchoked  ue^2 = 2 cp (T - Te),  flow = A Pa/(R Te) ue,  F = flow ue
//
// Te, the temperature of gas that has expanded to Pa, is the same all along. The state carried is the temperature T inside, and then
// s = sqrt(T - Te): of T the rate falls with sqrt(T - Te) to zero at a finite time, which no step can follow, of s it does not.
// With g = 7/5 the powers are P ~ T^(7/2), m ~ T^(5/2).
func (r *bottleRun) air() error {
	pa := r.Site.Air.Pressure
	p1 := r.pressure(r.volume)
	if r.NoAirThrust || r.volume < r.Volume || p1 <= pa {
		return nil
	}
	t1 := r.t0 * math.Pow(r.v0/r.volume, r.Exponent-1)
	b := &blowDown{t1: t1, p1: p1, m1: p1 * r.volume / (airGas * t1), te: t1 * math.Pow(pa/p1, (airGamma-1)/airGamma), pa: pa, area: r.nozzle() * r.Discharge}
	if choked := b.te * (airGamma + 1) / 2; t1 > choked {
		done, err := r.jet(b, b.choked, t1, func(_ float64, y vector) float64 { return y[2] - choked })
		if err != nil || !done {
			return err
		}
		t1 = choked
	}
	_, err := r.jet(b, b.unchoked, math.Sqrt(t1-b.te), func(_ float64, y vector) float64 { return y[2] })
	return err
}

// jet flies one part of the blow-down, until the event end; done says whether it came.
func (r *bottleRun) jet(b *blowDown, part func(x float64) (mass, rate, force float64), x float64, end func(float64, vector) float64) (done bool, err error) {
	sol, err := r.flight.run(AirJet, problem{
		field: func(_ float64, y vector) vector {
			mass, rate, force := part(y[2])
			g, drag := r.around.at(y[0], y[1])
			return vector{y[1], (force-drag)/(r.DryMass+mass) - g, rate}
		},
		from: r.t, to: r.flight.limit(r.t), start: vector{r.y[0], r.y[1], x},
		scale: vector{flightScale[0], flightScale[1], x, 1}, events: []func(float64, vector) float64{end},
	}, func(_ float64, y vector) float64 {
		_, _, force := part(y[2])
		return force
	}, func(_ float64, y vector) float64 {
		mass, _, _ := part(y[2])
		return r.DryMass + mass
	})
	if err != nil {
		return false, err
	}
	r.t, r.y = sol.t, sol.y
	r.airMass, _, _ = part(sol.y[2])
	return sol.event == 0, nil
}

// blowDown is gas that leaves a bottle: temperature, pressure and mass at its start, temperature once expanded to the air's pressure.
type blowDown struct{ t1, p1, m1, te, pa, area float64 }

// mass of the gas left at temperature t.
func (b *blowDown) mass(t float64) float64 { q := t / b.t1; return b.m1 * q * q * math.Sqrt(q) }

// choked returns mass of the gas, rate of its temperature and thrust at temperature t.
func (b *blowDown) choked(t float64) (mass, rate, force float64) {
	const g = airGamma
	q := t / b.t1
	mass = b.mass(t)
	pe, te := criticalRatio*b.p1*q*q*q*math.Sqrt(q), t*2/(g+1)
	ue := math.Sqrt(g * airGas * te)
	flow := b.area * pe / (airGas * te) * ue
	return mass, -(g - 1) * t / mass * flow, flow*ue + (pe-b.pa)*b.area
}

// unchoked returns the same of s = sqrt(T - Te).
func (b *blowDown) unchoked(s float64) (mass, rate, force float64) {
	const g = airGamma
	t := b.te + s*s
	mass = b.mass(t)
	c := math.Sqrt(2 * g / (g - 1) * airGas) // ue = c s
	flow := b.area * b.pa / (airGas * b.te) * c
	return mass, -(g - 1) / 2 * t / mass * flow, flow * c * s * s
}

// criticalRatio is (2/(g+1))^(g/(g-1)), of the pressure in a choked throat over that inside.
var criticalRatio = math.Pow(2/(airGamma+1), airGamma/(airGamma-1))
