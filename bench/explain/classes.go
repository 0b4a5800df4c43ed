package main

import (
	"log"
	"math"
	"math/rand/v2"

	"padside/camera"
	"padside/explain"
	"padside/flight"
	"padside/motion"
)

// class is one kind of launch and of footage.
type class struct {
	name  string
	lacks string // what the model that is fitted lacks; empty: nothing
	other string // the other model that is set against it; empty: none
	draw  func(seed uint64) simulated
}

// simulated is one launch, what its owner states, and the truth.
type simulated struct {
	launch      explain.Launch
	unknowns    []explain.Unknown
	truth       []float64
	model       explain.Model
	heavy       explain.Model // a bottle's, with the inertia of the water
	other       explain.Model // set against it; nil: none
	firstMotion float64       // s
	rate        float64       // frames a second
}

func classes() []class {
	return []class{
		{name: "bottle 1600 fps, 2 m in view", draw: func(s uint64) simulated { return bottle(s, 2, false, nil) }},
		{name: "bottle 1600 fps, trace wanders by 0.1 mm", draw: func(s uint64) simulated { return bottle(s, 2, true, nil) }},
		{name: "bottle 400 fps, coast in view", draw: func(s uint64) simulated { return coasting(s) }},
		{name: "motor 240 fps", draw: motor},
		{name: "bottle on a tube", lacks: "a launch tube of 0.15 m", draw: func(s uint64) simulated {
			return bottle(s, 2, true, func(b *flight.Bottle) { b.Tube = &flight.Tube{Length: 0.15, Diameter: 0.9 * b.NozzleDiameter} })
		}},
		{name: "bottle, heavy water", lacks: "the inertia of the water", other: "with the inertia of the water", draw: func(s uint64) simulated {
			return against(bottle(s, 2, true, func(b *flight.Bottle) { b.WaterInertia = true }))
		}},
		{name: "bottle, light water", other: "with the inertia of the water", draw: func(s uint64) simulated { return against(bottle(s, 2, true, nil)) }},
		{name: "bottle, dry mass mistaken by half", lacks: "half of the dry mass", draw: func(s uint64) simulated {
			return bottle(s, 2, true, func(b *flight.Bottle) { b.DryMass *= 2 })
		}},
	}
}

// off returns a truth whose statement is value with standard uncertainty u.
func off(r *rand.Rand, value, u float64) float64 { return value + u*r.NormFloat64() }

// bottle is a bottle with discharge and exponent free, pressure, masses, water, nozzle and drag stated; change makes it something the
// model lacks.
func bottle(seed uint64, top float64, wanders bool, change func(*flight.Bottle)) simulated {
	r := rand.New(rand.NewPCG(seed, 0xb0771e))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	stated := flight.Bottle{Volume: between(0.75, 1.5) * 1e-3, Pressure: between(3.5, 6) * 1e5, NozzleDiameter: between(10, 15) * 1e-3, DryMass: between(0.1, 0.16),
		BodyDiameter: 0.085, DragCoefficient: between(0.3, 0.5), Site: flight.StandardSite()}
	stated.Water = stated.Volume * between(0.18, 0.4)
	u := []explain.Unknown{
		{Key: "discharge", Start: 0.95, Least: 0.3, Most: 1.2}, {Key: "exponent", Start: 1.3, Least: 0.9, Most: 1.6},
		known("pressure", stated.Pressure, 0.01*stated.Pressure), known("dry_mass", stated.DryMass, 0.7e-3), known("water", stated.Water, 3e-6),
		known("nozzle", stated.NozzleDiameter, 0.1e-3), known("drag", stated.DragCoefficient, 0.08),
	}
	truth := []float64{between(0.88, 0.99), between(1.2, 1.38)}
	for _, k := range u[2:] {
		truth = append(truth, off(r, k.Start, k.U))
	}
	set := func(v []float64) flight.Bottle {
		b := stated
		b.Discharge, b.Exponent, b.Pressure, b.DryMass, b.Water, b.NozzleDiameter, b.DragCoefficient = v[0], v[1], v[2], v[3], v[4], v[5], v[6]
		return b
	}
	b := set(truth)
	if change != nil {
		change(&b)
	}
	s := simulated{unknowns: u, truth: truth, rate: 1600, model: func(_ int, v []float64, until float64) (*flight.Flight, error) {
		b := set(v)
		return b.FlyUntil(until)
	}, heavy: func(_ int, v []float64, until float64) (*flight.Flight, error) {
		b := set(v)
		b.WaterInertia = true
		return b.FlyUntil(until)
	}}
	f, err := b.Fly()
	if err != nil {
		return bottle(seed+1e9, top, wanders, change) // this one does not lift off
	}
	s.film(r, f, top, 0.25, 4e-5, wanders)
	return s
}

// against sets the model with the inertia of the water against that without.
func against(s simulated) simulated {
	s.other = s.heavy
	return s
}

// coasting is a bottle seen from farther away until well into its coast, drag free as well.
func coasting(seed uint64) simulated {
	s := bottle(seed, 2, false, nil)
	r := rand.New(rand.NewPCG(seed, 0xc0a57))
	s.unknowns[6] = explain.Unknown{Key: "drag", Start: 0.4, Least: 0, Most: 2}
	f, err := s.model(0, s.truth, 3)
	if err != nil {
		log.Fatal(err)
	}
	s.rate = 400
	s.film(r, f, 18, 0.9, 2e-3, false)
	return s
}

// motor is a model rocket whose thrust curve is known but for its scale.
func motor(seed uint64) simulated {
	r := rand.New(rand.NewPCG(seed, 0x3070))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	peak, mean, burn := between(12, 20), between(5, 8), between(0.8, 1.5)
	stated := flight.Motor{Thrust: []flight.ThrustPoint{{Time: 0}, {Time: 0.12, Force: peak}, {Time: 0.25, Force: mean}, {Time: burn, Force: mean}, {Time: burn + 0.1}},
		PropellantMass: 0.012, DryMass: between(0.06, 0.1), BodyDiameter: 0.025, Site: flight.StandardSite()}
	u := []explain.Unknown{{Key: "thrust_scale", Start: 1, Least: 0.2, Most: 3}, known("dry_mass", stated.DryMass, 0.5e-3), known("drag", 0.6, 0.1)}
	truth := []float64{between(0.85, 1.15), off(r, stated.DryMass, 0.5e-3), off(r, 0.6, 0.1)}
	set := func(v []float64) flight.Motor {
		m := stated
		m.Thrust = nil
		for _, p := range stated.Thrust {
			m.Thrust = append(m.Thrust, flight.ThrustPoint{Time: p.Time, Force: p.Force * v[0]})
		}
		m.DryMass, m.DragCoefficient = v[1], v[2]
		return m
	}
	s := simulated{unknowns: u, truth: truth, rate: 240, model: func(_ int, v []float64, until float64) (*flight.Flight, error) { return set(v).FlyUntil(until) }}
	f, err := set(truth).Fly()
	if err != nil {
		log.Fatal(err)
	}
	s.film(r, f, 6, 0.5, 1e-3, false)
	return s
}

func known(key string, value, u float64) explain.Unknown {
	return explain.Unknown{Key: key, Start: value, U: u, Least: value - 8*u, Most: value + 8*u}
}

// The errors that all frames share: scale 0.4 %, its change along the way 0.15 % at the top, the lean's own 0.1 %, rate 100 ppm.
const (
	scaleU, bendU, leanU, rateU = 4e-3, 1.5e-3, 1e-3, 1e-4
)

// film fills in the trace of a flight up to top (m) or for so many seconds after first motion: noise is that of a frame, m; wanders adds slow errors of 0.1 mm.
func (s *simulated) film(r *rand.Rand, f *flight.Flight, top, seconds, noise float64, wanders bool) {
	common := func(setup, own *rand.Rand, _ string) camera.Warp {
		return camera.Warp{E: [3]float64{scaleU*setup.NormFloat64() + leanU*own.NormFloat64(), bendU / top * setup.NormFloat64()}}
	}
	s.launch = explain.Launch{Common: motion.Common{Sources: []string{"scale"}, Warp: common, RateU: rateU}}
	warp, clock := common(r, r, ""), 1+rateU*r.NormFloat64()
	s.firstMotion = (20 + 10*r.Float64()) / s.rate
	// The trace wanders as a sum of waves with random phases, some tens of frames long; its uncertainty says so from the first frame in flight on.
	const slow = 1e-4
	var phase, pace [6]float64
	for k := range phase {
		phase[k], pace[k] = 2*math.Pi*r.Float64(), (20+60*r.Float64())*2*math.Pi/20
	}
	for i := 0; ; i++ {
		at := float64(i) / s.rate
		after := (at - s.firstMotion) * clock
		y := f.At(after + f.FirstMotion).Height
		if after <= 0 {
			y = 0
		}
		if y > top || after > seconds {
			return
		}
		h := y
		for range 4 { // the nominal height whose warp is the truth
			w, dw, _ := warp.At(h)
			h -= (w - y) / dw
		}
		u := noise * (0.7 + 0.6*float64(i%5)/4)
		doubt := 0.0
		if wanders && after > 0 {
			doubt = slow
			for k := range phase {
				h += slow * math.Sin(phase[k]+pace[k]*after) * math.Sqrt(2./float64(len(phase)))
			}
		}
		s.launch.Observations = append(s.launch.Observations, motion.Observation{Frame: i, T: at, H: h + u*r.NormFloat64(), U: u / 1.2, DoubtU: doubt})
	}
}
