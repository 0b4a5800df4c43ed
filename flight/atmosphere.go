package flight

import (
	"math"

	"padside/fault"
)

// Constants of the U.S. Standard Atmosphere, 1976 (NOAA-S/T 76-1562).
const (
	gasConstant   = 8.31432                                   // J/(mol K), as the standard has it
	molarMass     = 0.0289644                                 // kg/mol, dry air at sea level
	airGas        = 287.05287                                 // J/(kg K) = gasConstant/molarMass, rounded in the 8th digit
	earthRadius   = 6356766.0                                 // m, of the geopotential
	airGamma      = 1.4                                       // ratio of specific heats
	seaTemp       = 288.15                                    // K
	seaPressure   = 101325.0                                  // Pa
	troposphere   = -0.0065                                   // K per geopotential metre
	topOfModel    = 84852.0                                   // geopotential metres, 86 km geometric
	hydrostaticGM = StandardGravity * molarMass / gasConstant // K/m
)

// Air is the state of still, dry air.
type Air struct {
	Temperature float64 // K
	Pressure    float64 // Pa
}

// Density returns p/(R T), kg/m3.
func (a Air) Density() float64 { return a.Pressure / (airGas * a.Temperature) }

// SpeedOfSound returns sqrt(gamma R T), m/s.
func (a Air) SpeedOfSound() float64 { return math.Sqrt(airGamma * airGas * a.Temperature) }

// Geopotential returns the geopotential altitude r0 Z/(r0 + Z) of a geometric one, m. The
// standard's layers are defined in geopotential metres; tables are usually read by
// geometric altitude, and at 11 km the two differ by 19 m.
func Geopotential(geometric float64) float64 {
	return earthRadius * geometric / (earthRadius + geometric)
}

// layers of the standard: base (geopotential m) and lapse rate (K/m) from there up.
var standardLayers = [...]struct{ base, lapse float64 }{
	{0, troposphere}, {11000, 0}, {20000, 0.001}, {32000, 0.0028}, {47000, 0}, {51000, -0.0028}, {71000, -0.002},
}

// StandardAir returns the U.S. Standard Atmosphere 1976 at a geometric altitude above sea
// level from -5 km to 86 km. It reproduces the printed tables to their last digit; above
// 80 km the table's temperature is lower than this by up to 0.04 % (molar mass falls).
func StandardAir(altitude float64) (Air, error) {
	h := Geopotential(altitude)
	if math.IsNaN(h) || altitude < -5000 || h > topOfModel+1 {
		return Air{}, fault.Requestf("give an altitude from -5 km to 86 km",
			"the standard atmosphere does not reach %g m", altitude)
	}
	air := Air{seaTemp, seaPressure}
	for i, l := range standardLayers {
		if i+1 == len(standardLayers) || h <= standardLayers[i+1].base {
			return air.rise(h-l.base, l.lapse), nil
		}
		air = air.rise(standardLayers[i+1].base-l.base, l.lapse)
	}
	return air, nil
}

// rise returns the air dh geopotential metres higher in hydrostatic balance at a constant
// lapse rate (K/m).
func (a Air) rise(dh, lapse float64) Air {
	if lapse == 0 {
		return Air{a.Temperature, a.Pressure * math.Exp(-hydrostaticGM*dh/a.Temperature)}
	}
	t := a.Temperature + lapse*dh
	return Air{t, a.Pressure * math.Pow(a.Temperature/t, hydrostaticGM/lapse)}
}

// Site is the place of a launch: gravity and air at the pad.
type Site struct {
	Gravity float64 // m/s2, 0 or more
	Air     Air     // at the pad
	// Uniform holds gravity and air the same at every height. Otherwise gravity falls with
	// the square of the distance to the Earth's centre and the air as above Air with the
	// standard's lapse rate, -6.5 K/km.
	Uniform bool
}

// StandardSite is sea level in the standard atmosphere under standard gravity.
func StandardSite() Site {
	return Site{Gravity: StandardGravity, Air: Air{seaTemp, seaPressure}}
}

// Conditions is what is known of a site; nil means not known.
type Conditions struct {
	Latitude    *float64 // rad
	Elevation   *float64 // m above sea level
	Temperature *float64 // K, of the air at the pad
	Pressure    *float64 // Pa, of the air at the pad (not reduced to sea level)
}

// Site returns the site for c: the standard atmosphere at the elevation (sea level where it
// is unknown), with the air's measured temperature and pressure in place of the standard's.
func (c Conditions) Site() (Site, error) {
	elevation := 0.0
	if c.Elevation != nil {
		elevation = *c.Elevation
	}
	air, err := StandardAir(elevation)
	if err != nil {
		return Site{}, err
	}
	if c.Temperature != nil {
		air.Temperature = *c.Temperature
	}
	if c.Pressure != nil {
		air.Pressure = *c.Pressure
	}
	s := Site{Gravity: LocalGravity(c.Latitude, c.Elevation).Value, Air: air}
	return s, s.validate()
}

func (s Site) validate() error {
	switch {
	case !(s.Gravity >= 0 && s.Gravity < 100):
		return fault.Requestf("give gravity in m/s2, 9.8 on Earth", "gravity of %g m/s2 is not possible here", s.Gravity)
	case !(s.Air.Temperature > 150 && s.Air.Temperature < 350):
		return fault.Requestf("give the air temperature, for instance \"15 degC\"",
			"air at %g K is outside 150 K to 350 K", s.Air.Temperature)
	case !(s.Air.Pressure > 1000 && s.Air.Pressure < 120000):
		return fault.Requestf("give the pressure at the pad, about \"1013 hPa\" at sea level",
			"air pressure of %g Pa is outside 1 kPa to 120 kPa", s.Air.Pressure)
	}
	return nil
}

// at returns gravity and air at height h above the pad. Above 11 km over the pad the air
// is taken as isothermal.
func (s Site) at(h float64) (g float64, air Air) {
	if s.Uniform {
		return s.Gravity, s.Air
	}
	r := earthRadius / (earthRadius + h)
	dh := Geopotential(h)
	air = s.Air.rise(math.Min(dh, 11000), troposphere)
	if dh > 11000 {
		air = air.rise(dh-11000, 0)
	}
	return s.Gravity * r * r, air
}
