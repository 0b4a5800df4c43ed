package flight

import "math"

// body is what the air sees: frontal diameter (m) and drag coefficient.
type body struct{ diameter, coefficient float64 }

// drag returns 1/2 rho Cd S v |v|, N.
func (b body) drag(air Air, v float64) float64 { return b.factor() * air.Density() * v * math.Abs(v) }

// factor is 1/2 Cd S, m2.
func (b body) factor() float64 { return 0.5 * b.coefficient * math.Pi / 4 * b.diameter * b.diameter }

// around is a body at its site, prepared for the equations of motion, which ask for gravity and drag some thousand times a flight.
type around struct {
	site    Site
	factor  float64 // 1/2 Cd S, m2
	density float64 // of the air at the pad, kg/m3
}

func surround(site Site, b body) *around {
	return &around{site: site, factor: b.factor(), density: site.Air.Density()}
}

// thinning is the exponent of density against temperature in the troposphere: -GM/(R L) - 1.
const thinning = -hydrostaticGM/troposphere - 1

// nearSeries is how far 1+x may be from one for powerNear's series to hold all digits; in the standard atmosphere 1.3 km.
const nearSeries = 0.03

// thinSeries are the first coefficients of the binomial series of (1+x)^thinning.
var thinSeries = binomial(thinning)

func binomial(a float64) (c [9]float64) {
	c[0] = 1
	for k := 1; k < len(c); k++ {
		c[k] = c[k-1] * (a - float64(k-1)) / float64(k)
	}
	return c
}

// at returns gravity (m/s2) and the drag (N) of a body at height h (m) and speed v (m/s), positive against a positive speed. The
// air's density is that of Site.at, within 1e-15.
func (s *around) at(h, v float64) (g, drag float64) {
	g, density := s.site.Gravity, s.density
	if !s.site.Uniform {
		r := earthRadius / (earthRadius + h)
		g *= r * r
		x := troposphere * h * r / s.site.Air.Temperature
		if math.Abs(x) < nearSeries {
			c, sum := &thinSeries, 0.0
			for k := len(c) - 1; k >= 0; k-- {
				sum = sum*x + c[k]
			}
			density *= sum
		} else {
			_, air := s.site.at(h)
			density = air.Density()
		}
	}
	return g, s.factor * density * v * math.Abs(v)
}
