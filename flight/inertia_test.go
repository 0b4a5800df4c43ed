package flight

import (
	"math"
	"testing"
)

// The gas's work is all found again: in the bottle, in the water that sinks in it, in the flow into the nozzle and in the jet.
func TestWaterInertiaEnergy(t *testing.T) {
	t.Parallel()
	b := caseA()
	b.WaterInertia = true
	f := fly(t, b)
	area, section := b.nozzle(), math.Pi/4*b.BodyDiameter*b.BodyDiameter
	s, entry := area/section, 8/(3*math.Pi)*math.Sqrt(area/math.Pi)
	const pa, n, rho = 101325.0, 1.4, waterDensity
	p0, v0 := b.Pressure+pa, b.gas()
	jet := 0.0 // J, gone with the jet
	const steps = 40000
	end := f.EndOfThrust
	h := end / steps
	state := func(t float64) (v, u, vol float64) {
		_, y := f.find(t)
		return y[1], y[2], y[3]
	}
	power := func(t float64) float64 {
		v, u, _ := state(t)
		return 0.5 * rho * area * u * (v - u) * (v - u)
	}
	for i := range steps {
		a := float64(i) * h
		jet += h / 6 * (power(a) + 4*power(a+h/2) + power(a+h*(1-1e-9)))
		if i%8000 != 7999 {
			continue
		}
		v, u, vol := state(a + h*(1-1e-9))
		water := rho * (b.Volume - vol)
		sink := v - s*u
		kinetic := 0.5*b.DryMass*v*v + 0.5*water*sink*sink + 0.5*rho*area*entry*u*u
		work := p0*v0/(n-1)*(1-math.Pow(v0/vol, n-1)) - pa*(vol-v0)
		wantRel(t, "energy found again", kinetic+jet, work, 1e-6)
	}
	if _, u, _ := state(0); u != 0 {
		t.Errorf("the jet begins at %g m/s, want rest", u)
	}
	// At release the pressure lifts more than the nozzle's section, and less than the bottle's.
	if got := f.Thrust(0); got < 2*b.Pressure*area || got > b.Pressure*section {
		t.Errorf("thrust at release %.0f N, want %.0f to %.0f N", got, 2*b.Pressure*area, b.Pressure*section)
	}
	// A narrow nozzle in a wide bottle hardly knows the difference.
	b.NozzleDiameter, b.WaterInertia = 4e-3, false
	plain := fly(t, b).At(1).Speed
	b.WaterInertia = true
	wantRel(t, "speed through a narrow nozzle", fly(t, b).At(1).Speed, plain, 0.03)
}
