package metrology

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Estimate is a measured value: best value, standard uncertainty and degrees of freedom,
// all in one SI unit. Dof is +Inf where the uncertainty is known exactly (GUM G.4).
type Estimate struct {
	Value float64
	U     float64
	Dof   float64
}

// Known returns an estimate whose standard uncertainty is itself not in doubt.
func Known(value, u float64) Estimate { return Estimate{Value: value, U: u, Dof: math.Inf(1)} }

// check refuses what cannot be propagated.
func (e Estimate) check() error {
	switch {
	case math.IsNaN(e.Value) || math.IsInf(e.Value, 0):
		return fmt.Errorf("value %g is no number", e.Value)
	case math.IsNaN(e.U) || math.IsInf(e.U, 0) || e.U < 0:
		return fmt.Errorf("standard uncertainty %g is no positive number", e.U)
	case math.IsNaN(e.Dof) || e.Dof <= 0:
		return fmt.Errorf("degrees of freedom %g are not positive", e.Dof)
	}
	return nil
}

// Interval returns the interval that holds the quantity with probability p, symmetric about
// the value: Value ± t_p(Dof) U (GUM G.3.2).
func (e Estimate) Interval(p float64) Interval {
	half := CoverageFactor(p, e.Dof) * e.U
	return Interval{Lo: e.Value - half, Hi: e.Value + half}
}

// CoverageFactor returns t_p(dof): the half width, in standard uncertainties, of the
// two-sided interval of probability p (0 < p < 1) of Student's distribution; the normal
// one for dof = +Inf. Degrees of freedom need not be whole; GUM G.4.1 cuts them to whole
// ones only to use its table. Source: GUM (JCGM 100:2008) G.3, table G.2.
func CoverageFactor(p, dof float64) float64 {
	if math.IsInf(dof, 1) {
		return math.Sqrt2 * math.Erfinv(p)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile((1 + p) / 2)
}

// WelchSatterthwaite returns the effective degrees of freedom of a sum of independent
// contributions u[i] (|c_i| u(x_i)) with dof[i]: uc^4 / Σ(u_i^4/dof_i), GUM equation (G.2b).
// It is +Inf where every contribution that counts has infinite degrees of freedom.
func WelchSatterthwaite(u, dof []float64) float64 {
	var variance float64
	for _, ui := range u {
		variance += ui * ui
	}
	if variance == 0 {
		return math.Inf(1)
	}
	var sum float64
	for i, ui := range u {
		share := ui * ui / variance // before squaring: no underflow
		sum += share * share / dof[i]
	}
	return 1 / sum
}
