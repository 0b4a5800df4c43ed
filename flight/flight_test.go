package flight

import (
	"errors"
	"math"
	"sync"
	"testing"

	"padside/fault"
)

// smallMotor is an invented motor of some 4 N s in a 60 g model.
func smallMotor() Motor {
	return Motor{
		Thrust:         []ThrustPoint{{0, 0}, {0.03, 2}, {0.12, 11}, {0.2, 12}, {0.26, 5}, {0.6, 4}, {0.7, 0}},
		PropellantMass: 0.006, DryMass: 0.054, BodyDiameter: 0.025, DragCoefficient: 0.6, RodLength: 0.9, Site: StandardSite(),
	}
}

func flyMotor(t *testing.T, m Motor) *Flight {
	t.Helper()
	f, err := m.Fly()
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Tsiolkovsky: ve 2000 m/s, mass ratio 2, no gravity, no drag: 1386.2944 m/s.
func TestMotorTsiolkovsky(t *testing.T) {
	t.Parallel()
	m := Motor{
		Thrust:         []ThrustPoint{{0, 500}, {1, 1500}, {3, 500}, {4, 500}}, // 3500 N s
		PropellantMass: 1.75, DryMass: 1.75, BodyDiameter: 0.1, Site: still(0),
	}
	f := flyMotor(t, m)
	wantRel(t, "impulse", m.Impulse(), 3500, 1e-12)
	wantRel(t, "speed gained", f.At(f.EndOfThrust).Speed, 1386.2944, 1e-7)
	m.Site = still(StandardGravity) // thrust above weight from the start: minus g t
	f = flyMotor(t, m)
	wantRel(t, "speed gained under gravity", f.At(f.EndOfThrust).Speed, 1386.2944-StandardGravity*4, 1e-7)
}

func TestMotorFirstMotion(t *testing.T) {
	t.Parallel()
	m := smallMotor()
	m.PropellantMass = 0
	m.DryMass = 0.06
	m.Site.Uniform = true
	f := flyMotor(t, m)
	want := 0.03 * 0.06 * StandardGravity / 2 // the rise is straight to 2 N at 30 ms
	wantRel(t, "FirstMotion", f.FirstMotion, want, 1e-12)
	if s := f.At(f.FirstMotion * 0.999); s != (State{}) {
		t.Errorf("At before first motion = %v, want rest", s)
	}
	// Thrust rises from weight in a straight line: h = k t^3/6m, while drag is nothing.
	dt := 0.004
	s := f.At(f.FirstMotion + dt)
	k := 2 / 0.03 / 0.06
	wantRel(t, "height soon after", s.Height, k*dt*dt*dt/6, 1e-5)
	wantRel(t, "speed soon after", s.Speed, k*dt*dt/2, 1e-5)
	wantRel(t, "acceleration soon after", s.Acceleration, k*dt, 1e-5)
	if p := f.Phases(); len(p) != 3 || p[0].Name != Held || p[1].Name != Powered || p[2].Name != Coast {
		t.Errorf("Phases = %v, want held, motor, coast", p)
	}
}

func TestMotorRefuses(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(*Motor){
		"one point":      func(m *Motor) { m.Thrust = m.Thrust[:1] },
		"backward times": func(m *Motor) { m.Thrust = []ThrustPoint{{1, 5}, {0.5, 5}} },
		"NaN force":      func(m *Motor) { m.Thrust = []ThrustPoint{{0, math.NaN()}, {0.5, 5}} },
		"no thrust":      func(m *Motor) { m.Thrust = []ThrustPoint{{0, 0}, {0.5, 0}} },
		"too heavy":      func(m *Motor) { m.DryMass = 5 },
		"no mass":        func(m *Motor) { m.DryMass = 0 },
		"sinks back":     func(m *Motor) { m.Thrust = []ThrustPoint{{0, 0}, {0.01, 1}, {0.02, 0}, {0.5, 0}} },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			m := smallMotor()
			spoil(&m)
			_, err := m.Fly()
			var e *fault.Error
			if !errors.As(err, &e) || e.Kind != fault.Request || e.Hint == "" {
				t.Errorf("Fly = %v, want a refused request with a hint", err)
			}
		})
	}
}

// Coast under v^2 drag, closed form: dh = m/2k ln(1 + k v0^2/(m g)), t = vt/g atan(v0/vt).
func TestCoastClosedForm(t *testing.T) {
	t.Parallel()
	b := caseA()
	b.Site, b.DragCoefficient = still(StandardGravity), 0.5
	f := fly(t, b)
	start := f.At(f.EndOfThrust)
	k := 0.5 * b.Site.Air.Density() * b.DragCoefficient * math.Pi / 4 * b.BodyDiameter * b.BodyDiameter
	vt := math.Sqrt(b.DryMass * StandardGravity / k)
	wantRel(t, "terminal speed", vt, 18.35628, relReference)
	ta, h, ok := f.Apogee()
	if !ok {
		t.Fatal("no apogee")
	}
	wantRel(t, "coast height", h-start.Height, b.DryMass/(2*k)*math.Log(1+k*start.Speed*start.Speed/(b.DryMass*StandardGravity)), 1e-9)
	wantRel(t, "coast time", ta-f.EndOfThrust, vt/StandardGravity*math.Atan(start.Speed/vt), 1e-9)
	wantRel(t, "coast time", ta-f.EndOfThrust, 2.188066, relReference)
	if s := f.At(f.End + 1); s.Speed != 0 || s.Acceleration != 0 || math.Abs(s.Height) > 1e-9 {
		t.Errorf("At after landing = %v, want rest at 0", s)
	}
}

// Falling from rest against v^2 drag: v = vt tanh(g t/vt), s = vt^2/g ln cosh(g t/vt), with
// g and vt of the buoyed ball.
func TestDropClosedForm(t *testing.T) {
	t.Parallel()
	d := Drop{Mass: 0.0577, Diameter: 0.067, DragCoefficient: 0.5, Height: 4, Site: still(9.81)}
	f, err := d.Fly()
	if err != nil {
		t.Fatal(err)
	}
	rho := d.Site.Air.Density()
	k := rho * math.Pi / 6 * math.Pow(d.Diameter, 3) / d.Mass
	g := 9.81 * (1 - k) / (1 + k/2)
	c := 0.5 * rho * 0.5 * math.Pi / 4 * d.Diameter * d.Diameter / d.Mass / (1 + k/2)
	vt := math.Sqrt(g / c)
	for _, at := range []float64{0.05, 0.3, 0.8} {
		s := f.At(at)
		wantRel(t, "distance fallen", s.Height, vt*vt/g*math.Log(math.Cosh(g*at/vt)), 1e-9)
		wantRel(t, "speed", s.Speed, vt*math.Tanh(g*at/vt), 1e-9)
	}
	if f.EndOfThrust != 0 || f.FirstMotion != 0 {
		t.Errorf("a drop has thrust until %g, first motion %g, want 0", f.EndOfThrust, f.FirstMotion)
	}
	if s := f.At(2); math.Abs(s.Height-4) > 1e-9 || s.Speed != 0 {
		t.Errorf("At after the fall = %v, want rest at 4 m", s)
	}
	d.Mass = 1e-5
	if _, err := d.Fly(); err == nil {
		t.Error("a balloon falls, want a refusal")
	}
}

// The events and the state must tell one story.
func TestFlightConsistent(t *testing.T) {
	t.Parallel()
	b := caseA()
	b.Site, b.DragCoefficient, b.NoAirThrust, b.NoAirMass = StandardSite(), 0.4, false, false
	b.Tube = &Tube{0.15, 0.02}
	for name, f := range map[string]*Flight{"bottle": fly(t, b), "motor": flyMotor(t, smallMotor())} {
		for _, at := range []float64{f.FirstMotion, f.EndOfThrust / 3, f.EndOfThrust * 0.99, f.EndOfThrust + 0.1} {
			s, site := f.At(at), StandardSite()
			g, air := site.at(s.Height)
			shape := body{0.11, 0.4}
			if name == "motor" {
				shape = body{0.025, 0.6}
			}
			// What Mass and Thrust say must make the acceleration.
			wantRel(t, name+" acceleration by thrust and mass", (f.Thrust(at)-shape.drag(air, s.Speed))/f.Mass(at)-g, s.Acceleration, 1e-9)
		}
		_, peak := f.PeakSpeed(f.End)
		for _, share := range []float64{0.01, 0.3, 0.7, 0.99, 1} {
			at, ok := f.SpeedReached(peak * share)
			if !ok {
				t.Fatalf("%s: SpeedReached(%g) not reached", name, peak*share)
			}
			wantRel(t, name+" speed at SpeedReached", f.At(at).Speed, peak*share, 1e-9)
			if before := f.At(at - 1e-4).Speed; before >= peak*share {
				t.Errorf("%s: speed %g was reached before %g", name, peak*share, at)
			}
		}
		if _, ok := f.SpeedReached(peak * 1.0001); ok {
			t.Errorf("%s: SpeedReached beyond the peak", name)
		}
		_, top, _ := f.Apogee()
		for _, h := range []float64{0.01, 1, top * 0.999} {
			at, ok := f.HeightReached(h)
			if !ok {
				t.Fatalf("%s: HeightReached(%g) not reached", name, h)
			}
			wantRel(t, name+" height at HeightReached", f.At(at).Height, h, 1e-9)
		}
		if _, ok := f.HeightReached(top * 1.001); ok {
			t.Errorf("%s: HeightReached above apogee", name)
		}
		// Speed is the integral of acceleration, height that of speed: midpoint sums.
		var v, h float64
		const n = 200000
		end := f.EndOfThrust
		dt := (end - f.FirstMotion) / n
		for i := range n {
			s := f.At(f.FirstMotion + (float64(i)+0.5)*dt)
			v += s.Acceleration * dt
			h += s.Speed * dt
		}
		wantRel(t, name+" integral of acceleration", v, f.At(end).Speed, 1e-5)
		wantRel(t, name+" integral of speed", h, f.At(end).Height, 1e-5)
	}
}

// The peak over a window, against a fine scan.
func TestPeakAccelerationWindow(t *testing.T) {
	t.Parallel()
	f := flyMotor(t, smallMotor())
	for _, w := range []float64{0.01, 0.05, 0.3} {
		at, got := f.PeakAcceleration(w, f.EndOfThrust)
		var want float64
		for t0 := f.FirstMotion; t0+w <= f.EndOfThrust; t0 += 1e-5 {
			want = math.Max(want, (f.At(t0+w).Speed-f.At(t0).Speed)/w)
		}
		wantRel(t, "PeakAcceleration", got, want, 1e-7)
		wantRel(t, "mean at the reported stretch", (f.At(at+w).Speed-f.At(at).Speed)/w, got, 1e-12)
	}
}

func TestFlightConcurrent(t *testing.T) {
	t.Parallel()
	f := flyMotor(t, smallMotor())
	want := f.At(0.3)
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for range 100 {
				if got := f.At(0.3); got != want {
					t.Errorf("At = %v, want %v", got, want)
				}
			}
		})
	}
	wg.Wait()
}
