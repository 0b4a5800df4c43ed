package main

import (
	"math"

	"padside/flight"
)

// classic flies a bottle by the classical fourth-order Runge-Kutta method with fixed steps, in the variables of the textbook: gas
// volume while there is water, temperature and then the root of its excess while the gas leaves. n is steps per phase; each phase's end
// is found by shooting its length.
type classic struct {
	flight.Bottle
	n int
}

type state [3]float64 // height, speed, the phase's own quantity

type right func(y state) state

func (c classic) fly() float64 {
	const rho, gas, gamma, earth = 1000.0, 287.05287, 1.4, 6356766.0
	pa, area := c.Site.Air.Pressure, math.Pi/4*c.NozzleDiameter*c.NozzleDiameter
	half := 0.5 * c.DragCoefficient * math.Pi / 4 * c.BodyDiameter * c.BodyDiameter
	v0, p0, t0 := c.Volume-c.Water, c.Pressure+pa, c.Site.Air.Temperature
	air := p0 * v0 / (gas * t0)
	pull := func(y state) (g, drag float64) {
		r := earth / (earth + y[0])
		t := t0 - 0.0065*y[0]*r
		p := pa * math.Pow(t/t0, 9.80665*0.0289644/(8.31432*0.0065))
		return c.Site.Gravity * r * r, half * p / (gas * t) * y[1] * math.Abs(y[1])
	}
	y := c.phase(state{0, 0, v0}, 0.2, func(y state) state {
		over := p0*math.Pow(v0/y[2], gamma) - pa
		g, drag := pull(y)
		return state{y[1], (2*area*over-drag)/(c.DryMass+air+rho*(c.Volume-y[2])) - g, area * math.Sqrt(2*over/rho)}
	}, func(y state) float64 { return c.Volume - y[2] })
	p1 := p0 * math.Pow(v0/c.Volume, gamma)
	t1 := t0 * math.Pow(v0/c.Volume, gamma-1)
	te := t1 * math.Pow(pa/p1, (gamma-1)/gamma)
	mass := func(t float64) float64 { return air * math.Pow(t/t1, 1/(gamma-1)) }
	if te*(gamma+1)/2 < t1 {
		y = c.phase(state{y[0], y[1], t1}, 0.1, func(y state) state {
			t := y[2]
			m := mass(t)
			pe := p1 * math.Pow(t/t1, gamma/(gamma-1)) * math.Pow(2/(gamma+1), gamma/(gamma-1))
			ue := math.Sqrt(gamma * gas * t * 2 / (gamma + 1))
			flow := area * pe / (gas * t * 2 / (gamma + 1)) * ue
			g, drag := pull(y)
			return state{y[1], (flow*ue+(pe-pa)*area-drag)/(c.DryMass+m) - g, -(gamma - 1) * t / m * flow}
		}, func(y state) float64 { return y[2] - te*(gamma+1)/2 })
		t1, p1, air = y[2], p1*math.Pow(y[2]/t1, gamma/(gamma-1)), mass(y[2])
	}
	k := math.Sqrt(2 * gamma / (gamma - 1) * gas)
	y = c.phase(state{y[0], y[1], math.Sqrt(t1 - te)}, 0.1, func(y state) state {
		t := te + y[2]*y[2]
		m := mass(t)
		flow := area * pa / (gas * te) * k
		g, drag := pull(y)
		return state{y[1], (flow*k*y[2]*y[2]-drag)/(c.DryMass+m) - g, -(gamma - 1) / 2 * t / m * flow}
	}, func(y state) float64 { return y[2] })
	left := c.DryMass + mass(te)
	coast := func(y state) state {
		g, drag := pull(y)
		return state{y[1], -drag/left - g}
	}
	y = c.phase(y, 20, coast, func(y state) float64 { return y[1] })
	apogee := y[0]
	c.phase(y, 60, coast, func(y state) float64 { return y[0] })
	return apogee
}

// phase runs with steps of the least that n of them may need, until end falls to zero; the last step is cut by bisection.
func (c classic) phase(y state, longest float64, f right, end func(state) float64) state {
	h := longest / float64(c.n) / 2
	for range 2 * c.n {
		next := step(f, y, h)
		if !(end(next) > 0) {
			lo, hi := 0.0, h
			for range 50 {
				if mid := (lo + hi) / 2; end(step(f, y, mid)) > 0 {
					lo = mid
				} else {
					hi = mid
				}
			}
			return step(f, y, hi)
		}
		y = next
	}
	return y
}

func step(f right, y state, h float64) state {
	add := func(y, k state, h float64) state { return state{y[0] + h*k[0], y[1] + h*k[1], y[2] + h*k[2]} }
	k1 := f(y)
	k2 := f(add(y, k1, h/2))
	k3 := f(add(y, k2, h/2))
	k4 := f(add(y, k3, h))
	for i := range y {
		y[i] += h / 6 * (k1[i] + 2*k2[i] + 2*k3[i] + k4[i])
	}
	return y
}
