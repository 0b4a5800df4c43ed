package flight

import (
	"math"
	"testing"
)

// tolGravity: the printed check values end at 1e-8 m/s2.
const tolGravity = 1e-8

func TestGravity(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name              string
		ellipsoid         Ellipsoid
		latitude, h, want float64
	}{
		// H. Moritz, Geodesist's Handbook 1988, page 356.
		{"GRS80 equator", GRS80(), 0, 0, 9.780326772},
		{"GRS80 45", GRS80(), 45, 0, 9.806199203},
		{"GRS80 pole", GRS80(), 90, 0, 9.832186368},
		// The defining values of WGS84, and a value of public test suites.
		{"WGS84 equator", WGS84(), 0, 0, 9.7803253359},
		{"WGS84 pole", WGS84(), 90, 0, 9.8321849378},
		{"WGS84 59.91", WGS84(), 59.91, 0, 9.81910618638},
		// Derived: computed again from the same formula by other means.
		{"WGS84 30", WGS84(), 30, 0, 9.79324727},
		{"WGS84 45", WGS84(), 45, 0, 9.80619777},
		{"WGS84 60", WGS84(), 60, 0, 9.81917695},
		{"WGS84 45 100 m", WGS84(), 45, 100, 9.80588922},
		{"WGS84 45 1000 m", WGS84(), 45, 1000, 9.80311294},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got := c.ellipsoid.Gravity(c.latitude*math.Pi/180, c.h)
			if math.Abs(got-c.want) > tolGravity {
				t.Errorf("Gravity(%g deg, %g m) = %.10f, want %.10f", c.latitude, c.h, got, c.want)
			}
		})
	}
	// The free-air gradient, 0.3086 mGal/m.
	e := WGS84()
	lat := math.Pi / 4
	if got := (e.Gravity(lat, 0) - e.Gravity(lat, 1)) * 1e5; math.Abs(got-0.3086) > 1e-4 {
		t.Errorf("free-air gradient = %g mGal/m, want 0.3086", got)
	}
}

func TestLocalGravity(t *testing.T) {
	t.Parallel()
	lat, h := 51.5*math.Pi/180, 0.0
	known := LocalGravity(&lat, &h)
	if math.Abs(known.Value-9.812034) > 1e-6 { // London, checks of the formula
		t.Errorf("LocalGravity(51.5 deg, 0) = %.7f, want 9.812034", known.Value)
	}
	wantRel(t, "u with both known", known.U, 5e-4, 1e-9)
	nothing := LocalGravity(nil, nil)
	// Gravity over latitude is close to ge + (gp-ge) sin^2: standard deviation (gp-ge)/(2 sqrt 2).
	// Over 3000 m it is rectangular: 3.086e-6*3000/sqrt(12).
	wantRel(t, "u with nothing known", nothing.U, math.Hypot(math.Hypot(0.05186/(2*math.Sqrt2), 0.009258/math.Sqrt(12)), 5e-4), 5e-3)
	for _, x := range []float64{0, 30, 60, 90} {
		x *= math.Pi / 180
		if one := LocalGravity(&x, &h); math.Abs(one.Value-nothing.Value) > 2*nothing.U {
			t.Errorf("gravity at %g rad, %g, is outside %g +- 2*%g", x, one.Value, nothing.Value, nothing.U)
		}
	}
}
