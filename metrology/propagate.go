package metrology

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// PropagateOptions refine the law of propagation. The zero value: independent inputs,
// first order.
type PropagateOptions struct {
	// Correlation of the inputs, as many rows as inputs, ones on the diagonal; nil where
	// they are independent.
	Correlation mat.Symmetric
	// SecondOrder adds the terms of GUM 5.1.2 note (and H.1.7) for a curved model of
	// independent, normally distributed inputs.
	SecondOrder bool
}

// Propagated is the result of the law of propagation of uncertainty.
type Propagated struct {
	Estimate
	Sensitivity   []float64 // ∂f/∂x_i at the estimates
	Contributions []float64 // c_i u(x_i), signed, in the unit of the result
	Higher        float64   // variance that the second-order terms added
}

// Budget lists the share of the variance each input accounts for, largest first: what goes
// away when that input (and its correlations) is held. names go with the inputs.
func (p *Propagated) Budget(names []string, o PropagateOptions) ([]Share, error) {
	if len(names) != len(p.Contributions) {
		return nil, fmt.Errorf("make a budget: %d names for %d inputs", len(names), len(p.Contributions))
	}
	total := p.U * p.U
	if total == 0 {
		return nil, nil
	}
	shares := make([]Share, len(names))
	for i, name := range names {
		kept := append([]float64(nil), p.Contributions...)
		kept[i] = 0
		shares[i] = Share{name, 1 - (combine(kept, o.Correlation)+p.Higher)/total}
	}
	return tidyShares(shares), nil
}

// Propagate estimates y = f(x) by the law of propagation of uncertainty:
//
//	u²(y) = Σ_i Σ_j c_i c_j u(x_i) u(x_j) r(x_i, x_j),  c_i = ∂f/∂x_i      GUM (13), (16)
//
// and, with SecondOrder,
//
//   - Σ_i Σ_j [ ½ (∂²f/∂x_i∂x_j)² + ∂f/∂x_i ∂³f/∂x_i∂x_j² ] u²(x_i) u²(x_j)  GUM 5.1.2 note
//
// The value is f at the estimates (the second order does not shift it). Derivatives are
// central differences over a fraction of each u (five points, error of order u^4 f^(5)), so
// f must be smooth over ±u. Degrees of freedom follow Welch and Satterthwaite, who suppose
// independent inputs; where inputs of finite degrees of freedom are correlated the least of
// theirs is stated, which does not claim too much (GUM G.4.1, F.1.2).
// f must not keep or change its argument.
func Propagate(f func(x []float64) float64, x []Estimate, o PropagateOptions) (*Propagated, error) {
	if err := checkInputs(x, o); err != nil {
		return nil, fmt.Errorf("propagate uncertainty: %w", err)
	}
	d := newDerivatives(f, x)
	p := &Propagated{Sensitivity: make([]float64, len(x)), Contributions: make([]float64, len(x))}
	p.Value = d.f0
	for i, e := range x {
		p.Sensitivity[i] = d.first(i)
		p.Contributions[i] = p.Sensitivity[i] * e.U
	}
	variance := combine(p.Contributions, o.Correlation)
	if o.SecondOrder {
		p.Higher = d.secondOrder(p.Sensitivity)
		variance += p.Higher
	}
	p.U = math.Sqrt(max(0, variance))
	p.Dof = effectiveDof(p.Contributions, x, o.Correlation)
	if err := p.check(); err != nil {
		return nil, fmt.Errorf("propagate uncertainty: the model gives: %w", err)
	}
	return p, nil
}

// PropagateJoint estimates several results of the same inputs, y = f(x), with their joint
// covariance J V Jᵀ (first order; JCGM 102:2011, 6.2.1). f fills y, which has length
// results, and must not keep or change its arguments.
func PropagateJoint(f func(x, y []float64), results int, x []Estimate, o PropagateOptions) ([]Estimate, *mat.SymDense, error) {
	if o.SecondOrder {
		return nil, nil, fmt.Errorf("propagate uncertainty: the joint form has no second order")
	}
	y := make([]float64, results)
	rows := make([]*Propagated, results)
	estimates := make([]Estimate, results)
	for k := range results {
		one := func(x []float64) float64 { f(x, y); return y[k] }
		var err error
		if rows[k], err = Propagate(one, x, o); err != nil {
			return nil, nil, fmt.Errorf("result %d: %w", k, err)
		}
		estimates[k] = rows[k].Estimate
	}
	cov := mat.NewSymDense(results, nil)
	for a := range results {
		for b := a; b < results; b++ {
			cov.SetSym(a, b, bilinear(rows[a].Contributions, rows[b].Contributions, o.Correlation))
		}
	}
	return estimates, cov, nil
}

func checkInputs(x []Estimate, o PropagateOptions) error {
	for i, e := range x {
		if err := e.check(); err != nil {
			return fmt.Errorf("input %d: %w", i, err)
		}
	}
	r := o.Correlation
	if r == nil {
		return nil
	}
	if o.SecondOrder {
		return fmt.Errorf("the second order supposes independent inputs")
	}
	if r.SymmetricDim() != len(x) {
		return fmt.Errorf("%d correlations for %d inputs", r.SymmetricDim(), len(x))
	}
	for i := range x {
		for j := range i + 1 {
			c := r.At(i, j)
			if i == j && c != 1 || math.IsNaN(c) || math.Abs(c) > 1 {
				return fmt.Errorf("correlation of inputs %d and %d is %g", i, j, c)
			}
		}
	}
	return nil
}

// combine is Σ_i Σ_j a_i a_j r_ij.
func combine(a []float64, r mat.Symmetric) float64 { return bilinear(a, a, r) }

func bilinear(a, b []float64, r mat.Symmetric) float64 {
	var s float64
	for i, v := range a {
		if r == nil {
			s += v * b[i]
			continue
		}
		for j, w := range b {
			s += v * w * r.At(i, j)
		}
	}
	return s
}

func effectiveDof(u []float64, x []Estimate, r mat.Symmetric) float64 {
	dof := make([]float64, len(x))
	least := math.Inf(1)
	for i, e := range x {
		dof[i] = e.Dof
		for j := range i {
			if r != nil && r.At(i, j) != 0 && u[i] != 0 && u[j] != 0 {
				least = min(least, e.Dof, x[j].Dof)
			}
		}
	}
	return min(least, WelchSatterthwaite(u, dof))
}

// derivatives takes differences of f about the estimates.
type derivatives struct {
	f    func(x []float64) float64
	x    []float64
	u    []float64
	step []float64
	f0   float64
}

// stepOfU is the difference step in units of u: small enough for the model's curvature,
// large enough that third differences stand above rounding.
const stepOfU = 0.2

func newDerivatives(f func(x []float64) float64, in []Estimate) *derivatives {
	d := &derivatives{f: f, x: make([]float64, len(in)), u: make([]float64, len(in)), step: make([]float64, len(in))}
	for i, e := range in {
		d.x[i], d.u[i], d.step[i] = e.Value, e.U, stepOfU*e.U
		if least := 1e-8 * math.Abs(e.Value); d.step[i] < least {
			d.step[i] = least // u below the number's own digits
		}
		if d.step[i] == 0 {
			d.step[i] = 1e-8
		}
	}
	d.f0 = f(d.x)
	return d
}

// at evaluates f with input i moved by a steps and input j by b steps.
func (d *derivatives) at(i int, a float64, j int, b float64) float64 {
	xi, xj := d.x[i], d.x[j]
	d.x[i] += a * d.step[i]
	d.x[j] += b * d.step[j]
	y := d.f(d.x)
	d.x[i], d.x[j] = xi, xj
	if i == j {
		d.x[i] = xi
	}
	return y
}

// first is ∂f/∂x_i by five points: error h^4/30 f^(5) (Abramowitz & Stegun 25.3.6).
func (d *derivatives) first(i int) float64 {
	near := d.at(i, 1, i, 0) - d.at(i, -1, i, 0)
	far := d.at(i, 2, i, 0) - d.at(i, -2, i, 0)
	return (8*near - far) / (12 * d.step[i])
}

// secondOrder is the sum of the GUM's higher-order terms.
func (d *derivatives) secondOrder(c []float64) float64 {
	var sum float64
	for i := range d.x {
		for j := range d.x {
			mixed, third := d.mixed(i, j)
			uu := d.u[i] * d.u[j]
			sum += (mixed*mixed/2 + c[i]*third) * uu * uu
		}
	}
	return sum
}

// mixed returns ∂²f/∂x_i∂x_j and ∂³f/∂x_i∂x_j² by central differences, error of order h².
func (d *derivatives) mixed(i, j int) (second, third float64) {
	hi, hj := d.step[i], d.step[j]
	if i == j {
		up, down := d.at(i, 1, i, 0), d.at(i, -1, i, 0)
		up2, down2 := d.at(i, 2, i, 0), d.at(i, -2, i, 0)
		return (up - 2*d.f0 + down) / (hi * hi), (up2 - 2*up + 2*down - down2) / (2 * hi * hi * hi)
	}
	pp, pm := d.at(i, 1, j, 1), d.at(i, 1, j, -1)
	mp, mm := d.at(i, -1, j, 1), d.at(i, -1, j, -1)
	p0, m0 := d.at(i, 1, j, 0), d.at(i, -1, j, 0)
	return (pp - pm - mp + mm) / (4 * hi * hj), ((pp - 2*p0 + pm) - (mp - 2*m0 + mm)) / (2 * hi * hj * hj)
}
