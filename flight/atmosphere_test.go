package flight

import (
	"math"
	"testing"
)

// U.S. Standard Atmosphere 1976, table I, by geometric altitude; each within half a unit of
// the last printed digit. The rows above 15 km are from memory.
func TestStandardAir(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		z, temperature, pressure, uPressure, density, uDensity float64
	}{
		{0, 288.150, 101325, .5, 1.2250, 5e-5},
		{100, 287.500, 100129, .5, 1.2133, 5e-5},
		{500, 284.900, 95461, .5, 1.1673, 5e-5},
		{1000, 281.651, 89876, .5, 1.1117, 5e-5},
		{2000, 275.154, 79501, .5, 1.0066, 5e-5},
		{3000, 268.659, 70121, .5, 0.90925, 5e-6},
		{5000, 255.676, 54048, .5, 0.73643, 5e-6},
		{11000, 216.774, 22700, .5, 0.36480, 5e-6},
		{15000, 216.650, 12111.8, .05, 0.194755, 5e-7},
		{20000, 216.650, 5529.3, .05, 0.088910, 5e-7},
		{50000, 270.650, 79.779, 5e-4, 1.0269e-3, 5e-8},
	} {
		a, err := StandardAir(c.z)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(a.Temperature-c.temperature) > 6e-4 || math.Abs(a.Pressure-c.pressure) > c.uPressure*1.01 ||
			math.Abs(a.Density()-c.density) > c.uDensity*1.01 {
			t.Errorf("StandardAir(%g) = %.4f K, %.5g Pa, %.6g kg/m3, want %g, %g, %g",
				c.z, a.Temperature, a.Pressure, a.Density(), c.temperature, c.pressure, c.density)
		}
	}
	for _, z := range []float64{math.NaN(), -6000, 90000} {
		if _, err := StandardAir(z); err == nil {
			t.Errorf("StandardAir(%g) = nil error, want a refusal", z)
		}
	}
}

// The trap: the standard's layers are in geopotential metres.
func TestGeopotential(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ h, temperature, pressure, density float64 }{
		{1000, 281.650, 89874.6, 1.11164}, {5000, 255.650, 54019.9, 0.736115}, {11000, 216.650, 22632.06, 0.363918},
	} {
		a, err := StandardAir(earthRadius * c.h / (earthRadius - c.h))
		if err != nil {
			t.Fatal(err)
		}
		const tolDigits = 5e-6 // six digits stated
		wantRel(t, "temperature", a.Temperature, c.temperature, tolDigits)
		wantRel(t, "pressure", a.Pressure, c.pressure, tolDigits)
		wantRel(t, "density", a.Density(), c.density, tolDigits)
	}
}

func TestSpeedOfSound(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ z, sound float64 }{
		{0, 340.294}, {1000, 336.4347}, {5000, 320.5455},
	} {
		a, _ := StandardAir(c.z)
		wantRel(t, "speed of sound", a.SpeedOfSound(), c.sound, 2e-6)
	}
}

func TestConditionsSite(t *testing.T) {
	t.Parallel()
	elevation, warm := 1000.0, 293.15
	s, err := Conditions{Elevation: &elevation, Temperature: &warm}.Site()
	if err != nil {
		t.Fatal(err)
	}
	wantRel(t, "pressure", s.Air.Pressure, 89876, 1e-5)
	wantRel(t, "density", s.Air.Density(), 89876/(287.05287*293.15), 1e-5)
	// From sea level up the site's air is the standard's.
	base := StandardSite()
	_, up := base.at(2000)
	std, _ := StandardAir(2000)
	wantRel(t, "pressure above the pad", up.Pressure, std.Pressure, 1e-12)
	hot := 500.0
	if _, err := (Conditions{Temperature: &hot}).Site(); err == nil {
		t.Error("Site at 500 K = nil error, want a refusal")
	}
}
