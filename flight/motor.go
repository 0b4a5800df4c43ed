package flight

import (
	"fmt"
	"math"

	"padside/fault"
)

// ThrustPoint is one point of a thrust curve: time since ignition (s) and force (N).
type ThrustPoint struct{ Time, Force float64 }

// Motor is a rocket with a solid motor.
type Motor struct {
	Thrust          []ThrustPoint // straight lines between the points; zero outside; times increasing, first >= 0
	PropellantMass  float64       // kg, gone when the curve ends; 0 is allowed
	DryMass         float64       // kg, everything that is left then
	BodyDiameter    float64       // m
	DragCoefficient float64       // of the body's cross-section
	RodLength       float64       // m, of the launch rod or rail; 0: none stated
	Site            Site
}

// Impulse returns the total impulse, N s.
func (m Motor) Impulse() float64 {
	var sum float64
	for i := 1; i < len(m.Thrust); i++ {
		a, b := m.Thrust[i-1], m.Thrust[i]
		sum += (b.Time - a.Time) * (a.Force + b.Force) / 2
	}
	return sum
}

func (m Motor) validate() error {
	if len(m.Thrust) < 2 {
		return fault.Requestf("give at least two points (time, force)", "a thrust curve of %d points is no curve", len(m.Thrust))
	}
	for i, p := range m.Thrust {
		if !(p.Force >= 0 && p.Force < 1e8 && p.Time >= 0 && p.Time < horizon) || i > 0 && p.Time <= m.Thrust[i-1].Time {
			return fault.Requestf("times must increase from 0 or more, forces must not be negative",
				"thrust curve: point %d (%g s, %g N) does not fit", i+1, p.Time, p.Force)
		}
	}
	if m.Impulse() == 0 {
		return fault.Requestf("check the unit of the forces", "the thrust curve has no thrust")
	}
	for _, q := range []struct {
		name     string
		value    float64
		min, max float64
		unit     string
	}{
		{"propellant mass", m.PropellantMass, 0, 1e6, "kg"},
		{"dry mass", m.DryMass, 1e-3, 1e6, "kg"},
		{"body diameter", m.BodyDiameter, 1e-3, 20, "m"},
		{"drag coefficient", m.DragCoefficient, -1, 5, ""},
		{"rod length", m.RodLength, 0, 100, "m"},
	} {
		if !(q.value >= q.min && q.value <= q.max) {
			return outside(q.name, q.value, q.min, q.max, q.unit)
		}
	}
	return m.Site.validate()
}

// segment is the curve between two points, with the impulse delivered before it.
type segment struct {
	from, to ThrustPoint
	before   float64
}

func (s segment) force(t float64) float64 {
	return s.from.Force + (s.to.Force-s.from.Force)*(t-s.from.Time)/(s.to.Time-s.from.Time)
}

// impulse returns the impulse delivered up to time t of this segment, N s.
func (s segment) impulse(t float64) float64 {
	return s.before + (t-s.from.Time)*(s.from.Force+s.force(t))/2
}

func (m Motor) segments() []segment {
	var segs []segment
	var before float64
	for i := 1; i < len(m.Thrust); i++ {
		s := segment{m.Thrust[i-1], m.Thrust[i], before}
		before = s.impulse(s.to.Time)
		segs = append(segs, s)
	}
	return segs
}

// Fly computes the flight, ignited at t = 0. The vehicle stays on the pad until thrust
// exceeds weight: that instant is its first motion. Propellant burns in proportion to the
// impulse delivered (constant exhaust speed), so that without gravity and drag the speed
// gained is Tsiolkovsky's ve ln(m0/m1), ve = impulse/propellant.
func (m Motor) Fly() (*Flight, error) { return m.FlyUntil(0) }

// FlyUntil computes the flight up to the time until, s, and no further; 0 follows it to its end. What lies beyond is not known to
// the Flight: its End is until.
func (m Motor) FlyUntil(until float64) (*Flight, error) {
	if err := m.validate(); err != nil {
		return nil, err
	}
	f := &Flight{until: until}
	air := surround(m.Site, body{m.BodyDiameter, m.DragCoefficient})
	total, t, y, flying := m.Impulse(), 0.0, vector{}, false
	mass := func(s segment, t float64) float64 {
		return m.DryMass + m.PropellantMass*(1-s.impulse(t)/total)
	}
	for _, s := range m.segments() {
		if !flying {
			if t, flying = m.liftOff(s, mass); !flying {
				continue
			}
			f.FirstMotion = t
		}
		if t >= s.to.Time || f.cut(t) {
			continue
		}
		thrust := func(t float64, _ vector) float64 { return s.force(t) }
		sol, err := f.run(Powered, problem{
			field: func(t float64, y vector) vector {
				g, drag := air.at(y[0], y[1])
				return vector{y[1], (s.force(t)-drag)/mass(s, t) - g}
			},
			from: t, to: math.Min(s.to.Time, f.limit(t)), start: y, scale: flightScale,
			events: []func(float64, vector) float64{func(_ float64, y vector) float64 { return y[0] + 1e-6 }},
		}, thrust, func(t float64, _ vector) float64 { return mass(s, t) })
		if err != nil {
			return nil, err
		}
		if sol.event >= 0 {
			return nil, fault.Requestf("check thrust curve and masses", "the vehicle sinks back onto the pad %.3g s after ignition", sol.t)
		}
		t, y = sol.t, sol.y
	}
	if !flying {
		return nil, fault.Requestf("check thrust curve and masses", "the vehicle does not lift off: its thrust never exceeds its weight")
	}
	f.EndOfThrust = t
	if err := f.coast(air, m.DryMass, t, y); err != nil {
		return nil, err
	}
	_, v := f.PeakSpeed(math.Inf(1))
	f.warnTransonic(v, m.Site)
	f.warnRod(m.RodLength)
	return f, nil
}

// liftOff returns the instant within s at which thrust first exceeds weight.
func (m Motor) liftOff(s segment, mass func(segment, float64) float64) (t float64, ok bool) {
	over := func(t float64) bool { return s.force(t) > mass(s, t)*m.Site.Gravity }
	if over(s.from.Time) {
		return s.from.Time, true
	}
	if !over(s.to.Time) {
		return 0, false
	}
	return bisect(s.from.Time, s.to.Time, over), true
}

// safeRodSpeed is the least speed at which fins are usually trusted to guide, m/s: about
// 50 ft/s (common practice, no source).
const safeRodSpeed = 15.0

func (f *Flight) warnRod(length float64) {
	if length == 0 {
		return
	}
	v := 0.0
	if t, ok := f.HeightReached(length); ok {
		v = f.At(t).Speed
	}
	if v < safeRodSpeed {
		f.Warnings = append(f.Warnings, fault.Warning{Code: "slow-off-rod", Message: fmt.Sprintf(
			"the vehicle leaves its rod at %.1f m/s; below about %.0f m/s fins may not hold it straight: ask the range safety officer", math.Max(0, v), safeRodSpeed)})
	}
}
