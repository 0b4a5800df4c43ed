package flight

import (
	"math"
	"sync"

	"padside/metrology"
)

// StandardGravity is the conventional standard acceleration of free fall, m/s2
// (3rd General Conference on Weights and Measures, 1901).
const StandardGravity = 9.80665

// Ellipsoid is a level ellipsoid with the constants of its normal gravity field.
type Ellipsoid struct {
	SemiMajor  float64 // a, m
	Flattening float64 // f
	Equator    float64 // normal gravity at the equator, m/s2
	Pole       float64 // normal gravity at the poles, m/s2
	Rotation   float64 // omega, rad/s
	GM         float64 // m3/s2, atmosphere included
}

// WGS84 is the ellipsoid of NGA.STND.0036 (2014), World Geodetic System 1984.
func WGS84() Ellipsoid {
	return Ellipsoid{6378137, 1 / 298.257223563, 9.7803253359, 9.8321849378, 7.292115e-5, 3.986004418e14}
}

// GRS80 is the Geodetic Reference System 1980 (H. Moritz, Geodesist's Handbook 1988).
func GRS80() Ellipsoid {
	return Ellipsoid{6378137, 1 / 298.257222101, 9.7803267715, 9.8321863685, 7.292115e-5, 3.986005e14}
}

// Gravity returns normal gravity (m/s2) at a geodetic latitude (rad) and a height above the
// ellipsoid (m): Somigliana's closed formula on the surface,
//
//	g = (a ge cos^2 + b gp sin^2) / sqrt(a^2 cos^2 + b^2 sin^2)
//
// and its second-order continuation upward,
//
//	g(h) = g (1 - 2/a (1 + f + m - 2 f sin^2) h + 3 h^2/a^2),  m = omega^2 a^2 b / GM
//
// (W. A. Heiskanen, H. Moritz, Physical Geodesy, 1967, section 2-14). Heights up to some
// 10 km; truncation there is below 1e-8 relative.
func (e Ellipsoid) Gravity(latitude, height float64) float64 {
	a, f := e.SemiMajor, e.Flattening
	b := a * (1 - f)
	s, c := math.Sincos(latitude)
	s2, c2 := s*s, c*c
	g := (a*e.Equator*c2 + b*e.Pole*s2) / math.Sqrt(a*a*c2+b*b*s2)
	m := e.Rotation * e.Rotation * a * a * b / e.GM
	return g * (1 - 2/a*(1+f+m-2*f*s2)*height + 3*height*height/(a*a))
}

const (
	// gravityAnomaly is the standard uncertainty of taking normal gravity for the gravity of a
	// place: free-air anomalies of 30 to 50 mGal (1 mGal = 1e-5 m/s2) are usual on land
	// (common practice, no source).
	gravityAnomaly = 50e-5
	// highestSite is the upper end of the allowance for a site of unknown elevation, m.
	highestSite = 3000.0
)

// LocalGravity returns gravity at a site, WGS84 normal gravity with the uncertainty of not
// knowing the local anomaly (5e-4 m/s2). Latitude (rad) and elevation (m) may be nil: then
// they are taken as uniform over 0 to 90 degrees and over 0 to 3000 m, which adds
// 0.018 m/s2 and 0.003 m/s2. Degrees of freedom are infinite.
func LocalGravity(latitude, elevation *float64) metrology.Estimate {
	if latitude == nil && elevation == nil {
		return anywhere()
	}
	return averageGravity(latitude, elevation)
}

// anywhere is the gravity of a site of which nothing is known: a constant, computed once.
var anywhere = sync.OnceValue(func() metrology.Estimate { return averageGravity(nil, nil) })

func averageGravity(latitude, elevation *float64) metrology.Estimate {
	lats, heights := midpoints(latitude, 0, math.Pi/2), midpoints(elevation, 0, highestSite)
	e := WGS84()
	var sum, sum2 float64
	for _, lat := range lats {
		for _, h := range heights {
			d := e.Gravity(lat, h) - StandardGravity
			sum += d
			sum2 += d * d
		}
	}
	n := float64(len(lats) * len(heights))
	mean := sum / n
	spread := math.Max(0, sum2/n-mean*mean)
	return metrology.Estimate{
		Value: StandardGravity + mean,
		U:     math.Sqrt(spread + gravityAnomaly*gravityAnomaly),
		Dof:   math.Inf(1),
	}
}

// midpoints returns the value that is known, or the midpoints of 60 equal parts of [lo, hi].
func midpoints(known *float64, lo, hi float64) []float64 {
	if known != nil {
		return []float64{*known}
	}
	const n = 60
	v := make([]float64, n)
	for i := range v {
		v[i] = lo + (hi-lo)*(float64(i)+0.5)/n
	}
	return v
}
