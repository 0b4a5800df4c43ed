package metrology

import (
	"math"
	"math/rand/v2"
)

// Distribution is what is known of an input quantity (JCGM 101:2008, clause 6).
// Every draw takes the same count of random numbers whatever its outcome, except for
// StudentT, which takes pairs until one falls in the unit circle.
type Distribution interface {
	// Draw returns one possible value.
	Draw(r *rand.Rand) float64
}

// Normal has the given mean and standard deviation (JCGM 101 6.4.7).
type Normal struct{ Mean, SD float64 }

// Draw returns one possible value.
func (d Normal) Draw(r *rand.Rand) float64 { return d.Mean + d.SD*r.NormFloat64() }

// StudentT is Student's t of Dof degrees of freedom, shifted and scaled (JCGM 101 6.4.9): what
// is known of a mean of Dof+1 observations whose standard uncertainty is Scale. Its standard
// deviation is Scale*sqrt(Dof/(Dof-2)), infinite for Dof of 2 or less.
type StudentT struct{ Mean, Scale, Dof float64 }

// Draw returns one possible value by the polar method (Bailey, Math. Comput. 62:779, 1994).
func (d StudentT) Draw(r *rand.Rand) float64 {
	for {
		u, v := 2*r.Float64()-1, 2*r.Float64()-1
		w := u*u + v*v
		if w > 0 && w <= 1 {
			return d.Mean + d.Scale*u*math.Sqrt(d.Dof*math.Expm1(-2/d.Dof*math.Log(w))/w)
		}
	}
}

// Rectangular is uniform between its limits (JCGM 101 6.4.2).
type Rectangular struct{ Lo, Hi float64 }

// Draw returns one possible value.
func (d Rectangular) Draw(r *rand.Rand) float64 { return d.Lo + (d.Hi-d.Lo)*r.Float64() }

// Triangular is symmetric between its limits (JCGM 101 6.4.5).
type Triangular struct{ Lo, Hi float64 }

// Draw returns one possible value.
func (d Triangular) Draw(r *rand.Rand) float64 {
	return d.Lo + (d.Hi-d.Lo)/2*(r.Float64()+r.Float64())
}

// Arcsine is what a sinusoid of unknown phase does between its limits (JCGM 101 6.4.6).
type Arcsine struct{ Lo, Hi float64 }

// Draw returns one possible value.
func (d Arcsine) Draw(r *rand.Rand) float64 {
	return (d.Lo+d.Hi)/2 + (d.Hi-d.Lo)/2*math.Sin(2*math.Pi*r.Float64())
}

// Trapezoid is a rectangle whose limits are themselves known only to ±Inexact, the
// curvilinear trapezoid of JCGM 101 6.4.3; its width stays in doubt, its middle does not.
// Variance (Hi-Lo)²/12 + Inexact²/9.
type Trapezoid struct{ Lo, Hi, Inexact float64 }

// Draw returns one possible value.
func (d Trapezoid) Draw(r *rand.Rand) float64 {
	lo := d.Lo - d.Inexact + 2*d.Inexact*r.Float64()
	hi := d.Lo + d.Hi - lo
	return lo + (hi-lo)*r.Float64()
}

// Distribution returns what is known of an estimate: normal where its degrees of freedom are
// infinite, otherwise Student's t (JCGM 101 table 1).
func (e Estimate) Distribution() Distribution {
	if math.IsInf(e.Dof, 1) {
		return Normal{Mean: e.Value, SD: e.U}
	}
	return StudentT{Mean: e.Value, Scale: e.U, Dof: e.Dof}
}
