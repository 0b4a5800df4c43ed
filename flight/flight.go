package flight

import (
	"fmt"
	"math"
	"sort"

	"padside/fault"
)

// State is the motion at one instant, along the flight line: height (m, 0 at rest,
// positive away from the pad), speed (m/s) and acceleration (m/s2).
type State struct{ Height, Speed, Acceleration float64 }

// Phase names one part of a flight and when it lasted, s.
type Phase struct {
	Name     string
	From, To float64
}

// Names of phases.
const (
	Held       = "held" // on the pad, thrust below weight
	LaunchTube = "launch tube"
	Water      = "water"
	AirJet     = "air"
	Powered    = "motor"
	Coast      = "coast"
	Fall       = "fall"
)

// Flight is one computed flight. Fields and methods are for reading; a Flight may be used
// by several goroutines at once.
type Flight struct {
	FirstMotion float64 // s, the instant the vehicle leaves rest
	EndOfThrust float64 // s, the last instant of thrust (for a Drop: FirstMotion)
	End         float64 // s, when it is at rest again or the computation stops
	Warnings    []fault.Warning

	legs   []leg
	apogee *float64 // s
	until  float64  // s, how far it is followed; 0: to its end
}

// limit is how far a leg that begins at t is followed.
func (f *Flight) limit(t float64) float64 {
	if f.until > 0 {
		return math.Min(f.until, t+horizon)
	}
	return t + horizon
}

// cut says whether the flight is not followed beyond t.
func (f *Flight) cut(t float64) bool { return f.until > 0 && t >= f.until }

// leg is one stretch of a flight over which the equations of motion have no kink.
type leg struct {
	name   string
	field  field
	thrust func(t float64, y vector) float64
	mass   func(t float64, y vector) float64
	steps  []step
	to     float64
}

func (l *leg) from() float64 { return l.steps[0].t }

// At returns the motion at time t. Before first motion, and once it is at rest again, speed
// and acceleration are zero. Where acceleration jumps, the value after the jump is given.
func (f *Flight) At(t float64) State {
	if t < f.FirstMotion || len(f.legs) == 0 {
		return State{}
	}
	if t >= f.End {
		last := &f.legs[len(f.legs)-1]
		return State{Height: math.Max(0, last.steps[len(last.steps)-1].at(last.to)[0])}
	}
	l, y := f.find(t)
	return State{y[0], y[1], l.field(t, y)[1]}
}

// Thrust returns the force that drives the vehicle at time t, N.
func (f *Flight) Thrust(t float64) float64 {
	if t < f.FirstMotion || t >= f.End || len(f.legs) == 0 {
		return 0
	}
	l, y := f.find(t)
	if l.thrust == nil {
		return 0
	}
	return l.thrust(t, y)
}

// Mass returns what flies at time t, kg: vehicle, water, gas and propellant left. It is 0 for a Drop.
func (f *Flight) Mass(t float64) float64 {
	if len(f.legs) == 0 {
		return 0
	}
	l, y := f.find(math.Min(math.Max(t, f.FirstMotion), math.Nextafter(f.End, 0)))
	if l.mass == nil {
		return 0
	}
	return l.mass(t, y)
}

// find returns the leg and the state at a time in [FirstMotion, End).
func (f *Flight) find(t float64) (*leg, vector) {
	i := sort.Search(len(f.legs), func(i int) bool { return t < f.legs[i].to })
	l := &f.legs[min(i, len(f.legs)-1)]
	j := sort.Search(len(l.steps), func(j int) bool { return t < l.steps[j].end() })
	s := &l.steps[min(j, len(l.steps)-1)]
	return l, s.at(t)
}

// Phases lists the parts of the flight up to apogee (or the end, where there is none);
// neighbouring legs of one name are one phase.
func (f *Flight) Phases() []Phase {
	var p []Phase
	if f.FirstMotion > 0 {
		p = append(p, Phase{Held, 0, f.FirstMotion})
	}
	for i := range f.legs {
		l := &f.legs[i]
		if f.apogee != nil && l.from() >= *f.apogee {
			break
		}
		if n := len(p); n > 0 && p[n-1].Name == l.name {
			p[n-1].To = l.to
			continue
		}
		p = append(p, Phase{l.name, l.from(), l.to})
	}
	return p
}

// run integrates one more leg of the flight and returns its end.
func (f *Flight) run(name string, p problem, thrust, mass func(float64, vector) float64) (solution, error) {
	sol, err := integrate(p)
	if err != nil {
		return sol, fmt.Errorf("fly %s phase: %w", name, err)
	}
	if len(sol.steps) > 0 {
		f.legs = append(f.legs, leg{name: name, field: p.field, thrust: thrust, mass: mass, steps: sol.steps, to: sol.t})
	}
	f.End = sol.t
	return sol, nil
}

// horizon is how long a flight is followed where nothing ends it, s.
const horizon = 600.0

// flightScale is the size of height (m) and speed (m/s) below which errors do not matter.
var flightScale = vector{0.1, 1, 1, 1}

// coast follows a vehicle of constant mass up to apogee and back to the height it began
// from, with no recovery device.
func (f *Flight) coast(air *around, mass, t float64, y vector) error {
	if f.cut(t) {
		return nil
	}
	force := func(_ float64, y vector) vector {
		g, drag := air.at(y[0], y[1])
		return vector{y[1], -drag/mass - g}
	}
	constant := func(float64, vector) float64 { return mass }
	p := problem{field: force, from: t, to: f.limit(t), start: vector{y[0], y[1]}, scale: flightScale}
	if y[1] > 0 {
		p.events = append(p.events, func(_ float64, y vector) float64 { return y[1] })
		sol, err := f.run(Coast, p, nil, constant)
		if err != nil {
			return err
		}
		if sol.event < 0 {
			return nil
		}
		top := sol.t
		f.apogee = &top
		p.from, p.to, p.start = sol.t, f.limit(sol.t), vector{sol.y[0]}
		if f.cut(sol.t) {
			return nil
		}
	}
	p.events = []func(float64, vector) float64{func(_ float64, y vector) float64 { return y[0] }}
	_, err := f.run(Coast, p, nil, constant)
	return err
}

// warnTransonic says so where a constant drag coefficient is no longer a model.
func (f *Flight) warnTransonic(v float64, site Site) {
	if mach := v / site.Air.SpeedOfSound(); mach > 0.8 {
		f.Warnings = append(f.Warnings, fault.Warning{Code: "transonic", Message: fmt.Sprintf(
			"the vehicle reaches %.2f times the speed of sound, where drag rises steeply: heights and speeds after that are too high", mach)})
	}
}

// Track fills h and v, where they are not nil, with height (m) and speed (m/s) at times after first motion, s, in increasing order;
// before it the vehicle is at rest. It walks the flight once: a tenth of the work of asking At for each.
func (f *Flight) Track(after, h, v []float64) {
	i, j := 0, 0
	for n, t := range after {
		t += f.FirstMotion
		var y vector
		switch {
		case t < f.FirstMotion || len(f.legs) == 0:
		case t >= f.End:
			s := f.At(t)
			y[0], y[1] = s.Height, s.Speed
		default:
			for i < len(f.legs)-1 && t >= f.legs[i].to {
				i, j = i+1, 0
			}
			steps := f.legs[i].steps
			for j < len(steps)-1 && t >= steps[j].end() {
				j++
			}
			y = steps[j].at(t)
		}
		if h != nil {
			h[n] = y[0]
		}
		if v != nil {
			v[n] = y[1]
		}
	}
}
