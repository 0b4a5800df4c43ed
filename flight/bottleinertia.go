package flight

import "math"

// heavyWater is the water phase with the inertia of the water. In a bottle of cross-section B the water, a column of height z, sinks at
// s u, s = A/B, and leaves at u through the effective area A. The unsteady equation of Bernoulli along the water, in the
// accelerating bottle, and the balance of momentum of bottle and water:
//
//	rho L du/dt = P - Pa + rho (a + g) z - rho u^2/2 (1 - s^2),   L = s z + l
//	M (a + g)   = rho A u^2 (1 - s) + rho A z du/dt - D
//
// l is the inertia of the flow into the nozzle, taken as that of an opening in a wall, 8/(3 pi) of its radius (Rayleigh, The
// Theory of Sound, section 312 and appendix A). That inertia and apparent gravity matter, and largely cancel with what else the simple
// model leaves out: C. J. Gommes, Am. J. Phys. 78 (2010) 236; balances in a frame that accelerates: J. M. Prusa, SIAM Review 42
// (2000) 719. The equations are derived here; TestWaterInertiaEnergy holds them against the balance of energy.
func (r *bottleRun) heavyWater() error {
	now := *r // the equations below must not see the phases that follow
	area, pa := r.nozzle()*r.Discharge, r.Site.Air.Pressure
	section := math.Pi / 4 * r.BodyDiameter * r.BodyDiameter
	s, entry := area/section, 8/(3*math.Pi)*math.Sqrt(area/math.Pi)
	const rho = waterDensity
	// motion returns the acceleration of the jet's speed, and the force on all that flies.
	motion := func(y vector, drag float64) (du, force float64) {
		u, v := y[2], y[3]
		mass, z := now.mass(v), math.Max(0, r.Volume-v)/section
		push := rho * area * u * u * (1 - s)
		drive := now.pressure(v) - pa - rho*u*u/2*(1-s*s) + rho*z*(push-drag)/mass
		du = drive / (rho * (s*z + entry - rho*area*z*z/mass))
		return du, push + rho*area*z*du
	}
	sol, err := r.flight.run(Water, problem{
		field: func(_ float64, y vector) vector {
			g, drag := r.around.at(y[0], y[1])
			du, force := motion(y, drag)
			return vector{y[1], (force-drag)/now.mass(y[3]) - g, du, area * y[2]}
		},
		from: r.t, to: r.flight.limit(r.t), start: vector{r.y[0], r.y[1], 0, r.v0},
		scale: vector{flightScale[0], flightScale[1], 1, r.Volume},
		events: []func(float64, vector) float64{
			func(_ float64, y vector) float64 { return r.Volume - y[3] },
			func(_ float64, y vector) float64 { return y[2] },
		},
	}, func(_ float64, y vector) float64 {
		_, drag := r.around.at(y[0], y[1])
		_, force := motion(y, drag)
		return force
	}, func(_ float64, y vector) float64 { return now.mass(y[3]) })
	if err != nil {
		return err
	}
	r.drained(sol, 3)
	return nil
}
