package metrology

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Sum adds independent estimates of the same unit: values add, variances add, degrees of
// freedom by Welch and Satterthwaite. To add an error known to be zero but for its
// uncertainty, add Known(0, u).
func Sum(terms ...Estimate) Estimate {
	var e Estimate
	u, dof := make([]float64, len(terms)), make([]float64, len(terms))
	for i, t := range terms {
		e.Value += t.Value
		e.U = math.Hypot(e.U, t.U)
		u[i], dof[i] = t.U, t.Dof
	}
	e.Dof = WelchSatterthwaite(u, dof)
	return e
}

// Combined is the weighted mean of independent measurements of one quantity.
type Combined struct {
	Estimate
	Chi2       float64 // Σ (x_i - mean)²/u_i²
	Chi2Dof    int     // measurements less one
	Consistent bool    // Chi2 is within its 95 % range
}

// WeightedMean weighs independent measurements of one quantity by 1/u². Where they scatter
// more than their uncertainties allow (Chi2 beyond its 95 % quantile), U is widened by
// sqrt(Chi2/Chi2Dof), the Birge ratio (Birge, Phys. Rev. 40:207, 1932), and Consistent is false:
// something is missing from the budgets. Every u must be positive.
func WeightedMean(x []Estimate) (*Combined, error) {
	if len(x) == 0 {
		return nil, fmt.Errorf("combine measurements: there are none")
	}
	var sw, swx float64
	origin := x[0].Value
	for i, e := range x {
		if err := e.check(); err != nil {
			return nil, fmt.Errorf("combine measurements: measurement %d: %w", i, err)
		}
		if e.U == 0 {
			return nil, fmt.Errorf("combine measurements: measurement %d has no uncertainty to weigh it by", i)
		}
		w := 1 / (e.U * e.U)
		sw += w
		swx += w * (e.Value - origin)
	}
	c := &Combined{Chi2Dof: len(x) - 1, Consistent: true}
	c.Value, c.U = origin+swx/sw, 1/math.Sqrt(sw)
	parts, dof := make([]float64, len(x)), make([]float64, len(x))
	for i, e := range x {
		d := (e.Value - c.Value) / e.U
		c.Chi2 += d * d
		parts[i], dof[i] = 1/(e.U*sw), e.Dof
	}
	c.Dof = WelchSatterthwaite(parts, dof)
	if c.Chi2Dof > 0 && c.Chi2 > (distuv.ChiSquared{K: float64(c.Chi2Dof)}).Quantile(0.95) {
		c.Consistent = false
		c.U *= math.Sqrt(c.Chi2 / float64(c.Chi2Dof))
	}
	return c, nil
}
