package flight

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"padside/fault"
)

// relReference is the agreement asked of reference cases, whose digits end at about 1e-7.
const relReference = 1e-6

func wantRel(t *testing.T, name string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %.10g, want %.10g within %g relative", name, got, want, rel)
	}
}

// still is the idealised site of the reference cases: constant gravity and air.
func still(gravity float64) Site {
	s := StandardSite()
	s.Gravity, s.Uniform = gravity, true
	return s
}

// caseA is a 2 L bottle without gravity, drag, air thrust and air mass.
func caseA() Bottle {
	return Bottle{
		Volume: 2e-3, Water: 0.7e-3, Pressure: 4e5, NozzleDiameter: 21.5e-3, DryMass: 0.1,
		BodyDiameter: 0.11, Site: still(0), NoAirThrust: true, NoAirMass: true,
	}
}

func fly(t *testing.T, b Bottle) *Flight {
	t.Helper()
	f, err := b.Fly()
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// The reference cases are derived: solved beforehand with an independent integrator (an
// eighth-order pair, relative tolerance 1e-12), unpublished.
func TestBottleReference(t *testing.T) {
	t.Parallel()
	b := caseA()
	withGravity := b
	withGravity.Site = still(StandardGravity)
	drag := withGravity
	drag.DragCoefficient = 0.5
	jet := drag
	jet.NoAirThrust = false
	slow := drag
	slow.Volume, slow.Water, slow.Pressure, slow.NozzleDiameter = 1.5e-3, 0.5e-3, 3e5, 9e-3
	slow.DryMass, slow.BodyDiameter = 0.15, 0.088
	moist := drag
	moist.Exponent = 1.1

	type want struct{ a0, burn, speed, height, peak, apogee float64 } // 0: not stated
	for _, c := range []struct {
		name   string
		bottle Bottle
		want   want
	}{
		{"A no gravity no drag", b, want{363.0503, 85.25384e-3, 44.61365, 1.531426, 1255.845, 0}},
		{"B gravity", withGravity, want{353.2437, 0, 43.77760, 1.495787, 0, 99.20898}},
		{"C drag", drag, want{0, 0, 43.19433, 1.488643, 1191.738, 33.74371}},
		{"E slow", slow, want{0, 0.4030804, 23.15095, 4.191856, 90.5576, 25.04924}},
		{"F exponent 1.1", moist, want{0, 80.91336e-3, 46.09306, 0, 0, 35.61131}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			f := fly(t, c.bottle)
			end := f.At(f.EndOfThrust)
			_, peak := f.PeakAcceleration(0, f.EndOfThrust)
			_, apogee, _ := f.Apogee()
			for _, q := range []struct {
				name      string
				got, want float64
			}{
				{"initial acceleration", f.At(0).Acceleration, c.want.a0},
				{"end of water", f.EndOfThrust, c.want.burn},
				{"speed", end.Speed, c.want.speed},
				{"height", end.Height, c.want.height},
				{"peak acceleration", peak, c.want.peak},
				{"apogee", apogee, c.want.apogee},
			} {
				if q.want != 0 {
					wantRel(t, q.name, q.got, q.want, relReference)
				}
			}
		})
	}
	t.Run("D air jet", func(t *testing.T) {
		t.Parallel()
		f := fly(t, jet)
		p := f.Phases()
		if len(p) != 3 || p[0].Name != Water || p[1].Name != AirJet || p[2].Name != Coast {
			t.Fatalf("Phases = %v, want water, air, coast", p)
		}
		// The reference stopped its jet 0.02 ms before ours dies away: compare at its instant.
		end := f.At(p[1].From + 30.405e-3)
		_, apogee, _ := f.Apogee()
		wantRel(t, "air phase", p[1].To-p[1].From, 30.405e-3, 1e-3)
		wantRel(t, "speed", end.Speed, 49.9953, relReference)
		wantRel(t, "height", end.Height, 2.97188, 9e-6) // half a digit of the instant times 50 m/s
		wantRel(t, "apogee", apogee, 39.5714, relReference)
	})
	t.Run("A forces", func(t *testing.T) {
		t.Parallel()
		f := fly(t, b)
		wantRel(t, "initial thrust", f.Thrust(0), 290.4402, relReference)
		wantRel(t, "thrust at the end", f.Thrust(math.Nextafter(f.EndOfThrust, 0)), 125.5845, relReference)
	})
}

// Closed forms, derived in checks of the same source: constant pressure cannot be had from
// this model, but quadratures over the gas volume are independent of any ODE solver.
func TestBottleQuadrature(t *testing.T) {
	t.Parallel()
	b := caseA()
	f := fly(t, b)
	const pa, n = 101325.0, 1.4
	v0 := b.Volume - b.Water
	jet := func(v float64) float64 {
		return math.Sqrt(2 * ((b.Pressure+pa)*math.Pow(v0/v, n) - pa) / waterDensity)
	}
	simpson := func(fn func(v float64) float64) float64 {
		const m = 2000
		h := (b.Volume - v0) / m
		sum := fn(v0) + fn(b.Volume)
		for i := 1; i < m; i++ {
			sum += float64(2+2*(i%2)) * fn(v0+float64(i)*h)
		}
		return sum * h / 3
	}
	const tolQuadrature = 1e-9
	wantRel(t, "burn time", f.EndOfThrust, simpson(func(v float64) float64 { return 1 / (b.nozzle() * jet(v)) }), tolQuadrature)
	wantRel(t, "speed gained", f.At(f.EndOfThrust).Speed, simpson(func(v float64) float64 {
		return waterDensity * jet(v) / (b.DryMass + waterDensity*(b.Volume-v))
	}), tolQuadrature)
	wantRel(t, "impulse", 16.06214, simpson(func(v float64) float64 { return waterDensity * jet(v) }), relReference)
}

func TestBottleEnergyCeiling(t *testing.T) {
	t.Parallel()
	b := caseA()
	wantRel(t, "StoredEnergy", b.StoredEnergy(), 316.4874, relReference) // derived: 1.3 L, 4 bar gauge
	if err := b.CheckSpeed(79); err != nil {
		t.Errorf("CheckSpeed(79) = %v, want nil (312 J)", err)
	}
	// A hobbyists' flight table: 0.52 L, 150 mL, 8 bar, 96 g, some 110 m/s at burnout.
	small := Bottle{Volume: 0.52e-3, Water: 0.15e-3, Pressure: 8e5, DryMass: 0.096, Site: StandardSite()}
	wantRel(t, "StoredEnergy", small.StoredEnergy(), 246, 5e-3)
	var e *fault.Error
	if err := small.CheckSpeed(110); !errors.As(err, &e) || e.Kind != fault.Request || e.Hint == "" {
		t.Errorf("CheckSpeed(110) = %v, want a refused request with a hint", err)
	}
}

// Kinetic and potential energy never exceed what the gas held, whatever the bottle.
func TestBottleStaysUnderCeiling(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(7, 1))
	for i := range 60 {
		b := Bottle{
			Volume: 0.5e-3 + 2e-3*r.Float64(), Pressure: 1e5 + 7e5*r.Float64(),
			NozzleDiameter: 5e-3 + 20e-3*r.Float64(), DryMass: 0.05 + 0.2*r.Float64(),
			BodyDiameter: 0.06 + 0.06*r.Float64(), DragCoefficient: 0.3 * r.Float64(), Site: StandardSite(),
		}
		b.Water = b.Volume * (0.1 + 0.4*r.Float64())
		if i%3 == 0 {
			b.Tube = &Tube{Length: 0.1 + 0.2*r.Float64(), Diameter: b.NozzleDiameter}
		}
		f := fly(t, b)
		s := f.At(f.EndOfThrust)
		if e := b.DryMass * (s.Speed*s.Speed/2 + b.Site.Gravity*s.Height); e > b.StoredEnergy() {
			t.Errorf("bottle %d carries %g J, its gas held %g J", i, e, b.StoredEnergy())
		}
	}
}

// Published comparisons, as bands only.
func TestBottlePublished(t *testing.T) {
	t.Parallel()
	// A school science fair: plain 2 L bottle, 60 psi, 1200 mL, mean of 5 launches 27.0 m.
	// Dry mass, drag and diameter are not stated: ours are assumed.
	school := Bottle{
		Volume: 2e-3, Water: 1.2e-3, Pressure: 60 * 6894.757293168, NozzleDiameter: 21.5e-3,
		DryMass: 0.1, BodyDiameter: 0.11, DragCoefficient: 0.5, Site: StandardSite(),
	}
	_, h, _ := fly(t, school).Apogee()
	wantRel(t, "school apogee", h, 27.0, 0.25)
	// A public worked example: 100 psi, 0.63 L, 112 m, with a cruder air burst.
	worked := Bottle{
		Volume: 2e-3, Water: 0.63e-3, Pressure: 100 * 6894.757293168, NozzleDiameter: 0.875 * 0.0254,
		DryMass: 0.135, BodyDiameter: 2.55 * 0.0254, DragCoefficient: 0.4, Site: StandardSite(),
	}
	_, h, _ = fly(t, worked).Apogee()
	wantRel(t, "worked example apogee", h, 112, 0.10)
}

// A tube filled by the nozzle spends no water: its exit speed follows from energy alone.
func TestBottleLaunchTube(t *testing.T) {
	t.Parallel()
	b := caseA()
	b.Tube = &Tube{Length: 0.2, Diameter: 0.02}
	f := fly(t, b)
	const pa, n = 101325.0, 1.4
	v0, v1 := b.gas(), b.gas()+0.2*math.Pi/4*0.02*0.02
	p0 := b.Pressure + pa
	work := p0*v0/(n-1)*(1-math.Pow(v0/v1, n-1)) - pa*(v1-v0)
	speed := math.Sqrt(2 * work / 0.8)
	wantRel(t, "speed off the tube", f.At(f.Phases()[0].To).Speed, speed, 1e-9)
	if with, without := f.At(f.EndOfThrust).Speed, fly(t, caseA()).At(1).Speed; with <= without {
		t.Errorf("speed with tube = %g, want more than %g without", with, without)
	}
}

func TestBottleLowFill(t *testing.T) {
	t.Parallel()
	b := caseA()
	b.Water, b.Pressure, b.Site = 1.9e-3, 3e5, still(StandardGravity) // the gas is spent before the water
	b.NoAirThrust = false
	f := fly(t, b)
	if p := f.Phases(); len(p) != 2 || p[0].Name != Water {
		t.Errorf("Phases = %v, want water and coast", p)
	}
}

func TestBottleRefuses(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(*Bottle){
		"water over volume": func(b *Bottle) { b.Water = 3e-3 },
		"no water":          func(b *Bottle) { b.Water = 0 },
		"NaN pressure":      func(b *Bottle) { b.Pressure = math.NaN() },
		"negative mass":     func(b *Bottle) { b.DryMass = -1 },
		"infinite nozzle":   func(b *Bottle) { b.NozzleDiameter = math.Inf(1) },
		"too heavy":         func(b *Bottle) { b.DryMass = 90; b.Site = StandardSite() },
		"fat tube":          func(b *Bottle) { b.Tube = &Tube{0.2, 0.03} },
		"hot air":           func(b *Bottle) { b.Site.Air.Temperature = 900 },
		"exponent":          func(b *Bottle) { b.Exponent = 0.7 },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := caseA()
			spoil(&b)
			_, err := b.Fly()
			var e *fault.Error
			if !errors.As(err, &e) || e.Kind != fault.Request || e.Hint == "" {
				t.Errorf("Fly = %v, want a refused request with a hint", err)
			}
		})
	}
}
