package fit

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Problem is a nonlinear least-squares problem: find p that makes Σ r_i(p)² least.
// Divide each residual by its standard uncertainty where that is known.
type Problem struct {
	Observations int
	// Residuals fills r (length Observations). A residual that is not finite tells the
	// solver that p lies outside the model's domain; it then takes a shorter step.
	Residuals func(p, r []float64)
	// Jacobian fills j (Observations by parameters) with ∂r_i/∂p_j; nil means central
	// differences with steps of cbrt(2^-52) times the parameter's size.
	Jacobian func(p []float64, j *mat.Dense)
	Start    []float64
	// Scale is the typical size of each parameter, for difference steps where a parameter is
	// near zero; nil means the size of Start, or one where that is zero.
	Scale []float64
}

// NonlinearOptions bound the search; the zero value is the documented default.
type NonlinearOptions struct {
	MaxIterations int     // 0 means 500 Jacobians
	Tolerance     float64 // relative change of RSS, of the scaled step, and cosine between residual and columns; 0 means 1e-14
	// KnownSigma says that residuals are in units of their standard uncertainty, so that the
	// covariance is (JᵀJ)⁻¹ as it stands. Otherwise it is scaled by RSS/Dof.
	KnownSigma bool
}

func (o NonlinearOptions) withDefaults() NonlinearOptions {
	if o.MaxIterations == 0 {
		o.MaxIterations = 500
	}
	if o.Tolerance == 0 {
		o.Tolerance = 1e-14
	}
	return o
}

// Status says how a search ended.
type Status int

const (
	// Converged: no step, or none that the tolerance counts, makes the sum smaller.
	Converged Status = iota + 1
	// IterationLimit: the search was still going down; the result is the best so far.
	IterationLimit
)

func (s Status) String() string {
	if s == Converged {
		return "converged"
	}
	return "stopped at the iteration limit"
}

// Nonlinear is the solution of a nonlinear least-squares problem.
type Nonlinear struct {
	Parameters []float64
	Covariance *mat.SymDense // first order, at the solution
	Residuals  []float64
	RSS        float64
	ResidualSD float64 // sqrt(RSS/Dof); 0 where Dof is 0
	Dof        int
	Iterations int // Jacobians computed
	Status     Status
}

// SD returns the standard uncertainty of parameter j.
func (n *Nonlinear) SD(j int) float64 { return math.Sqrt(n.Covariance.At(j, j)) }

// Minimise solves the problem by the Levenberg-Marquardt method in its trust-region form:
// each step is the least-squares solution of the linearised problem within an ellipsoid whose
// axes are the column lengths of the Jacobian seen so far, and the ellipsoid grows or shrinks
// by how well the linear model foretold the gain. It finds a local minimum.
// Where the parameters cannot be told apart at the end, the error is ErrRank and the result,
// still returned, has no covariance. Accuracy on NIST's reference sets: see
// TestStRDNonlinear. Source: Moré, "The Levenberg-Marquardt algorithm: implementation and
// theory", Lecture Notes in Mathematics 630 (1978), 105-116.
func Minimise(p Problem, o NonlinearOptions) (*Nonlinear, error) {
	o = o.withDefaults()
	if p.Observations < len(p.Start) || len(p.Start) == 0 {
		return nil, fmt.Errorf("minimise: %d observations are too few for %d parameters", p.Observations, len(p.Start))
	}
	if p.Observations == len(p.Start) && !o.KnownSigma {
		return nil, fmt.Errorf("minimise: %d observations for as many parameters leave no scatter to judge by", p.Observations)
	}
	if !finite(p.Start) || p.Scale != nil && (len(p.Scale) != len(p.Start) || !finite(p.Scale)) {
		return nil, fmt.Errorf("minimise: the starting values or their scales are not finite")
	}
	s := newSearch(p)
	if !finite(s.r) {
		return nil, fmt.Errorf("minimise: a residual is not finite at the starting values")
	}
	status := IterationLimit
	for s.iterations < o.MaxIterations {
		done, err := s.iterate(o.Tolerance)
		if err != nil {
			return nil, fmt.Errorf("minimise: %w", err)
		}
		if done {
			status = Converged
			break
		}
	}
	return s.result(status, o.KnownSigma)
}

// search is the state of one minimisation.
type search struct {
	p          Problem
	x, r       []float64 // best so far
	rss        float64
	jac        *mat.Dense
	d          []float64 // axes: the longest each column of the Jacobian has been
	radius     float64   // of the trust region, in the scaled parameters
	lambda     float64
	iterations int
}

func newSearch(p Problem) *search {
	n := len(p.Start)
	s := &search{
		p: p, x: append([]float64(nil), p.Start...), r: make([]float64, p.Observations),
		jac: mat.NewDense(p.Observations, n, nil), d: make([]float64, n),
	}
	p.Residuals(s.x, s.r)
	s.rss = dot(s.r, s.r)
	return s
}

// iterate computes one Jacobian and takes one step that goes down, or says that none does.
func (s *search) iterate(tolerance float64) (done bool, err error) {
	if err := s.jacobian(); err != nil {
		return false, err
	}
	s.rescale()
	if s.rss == 0 || s.cosine() <= tolerance {
		return true, nil
	}
	m, n := s.p.Observations, len(s.x)
	f := factor(s.jac.RawMatrix().Data, m, n)
	trial, tr := make([]float64, n), make([]float64, m)
	for {
		step := s.step(f)
		for j := range trial {
			trial[j] = s.x[j] + step[j]
		}
		s.p.Residuals(trial, tr)
		length := s.scaledNorm(step)
		gain, foretold := s.gain(tr, step, length)
		s.resize(gain, foretold, length)
		if gain > 1e-4*foretold {
			copy(s.x, trial)
			copy(s.r, tr)
			s.rss = dot(tr, tr)
			small := gain <= tolerance && foretold <= tolerance
			return small || length <= tolerance*s.scaledNorm(s.x), nil
		}
		// Nothing gained and the region is down to rounding: this is the bottom.
		if s.radius <= max(tolerance, 0x1p-52)*s.scaledNorm(s.x) || foretold <= 0x1p-52 || s.radius == 0 {
			return true, nil
		}
	}
}

// rescale grows the axes to the columns' lengths and, first time, sets the radius.
func (s *search) rescale() {
	m, n := s.p.Observations, len(s.x)
	col := make([]float64, m)
	for j := range n {
		mat.Col(col, j, s.jac)
		s.d[j] = max(s.d[j], norm(col))
		if s.d[j] == 0 {
			s.d[j] = 1 // the parameter does nothing here; it may elsewhere
		}
	}
	s.iterations++
	if s.iterations == 1 {
		const firstStep = 1 // Moré allows 0.1 to 100; 100 leaps out of BoxBOD's domain from its far start
		s.radius = firstStep * s.scaledNorm(s.x)
		if s.radius == 0 {
			s.radius = firstStep
		}
	}
}

// cosine is the largest cosine between the residual and a column: zero at a minimum.
func (s *search) cosine() float64 {
	col := make([]float64, s.p.Observations)
	var largest float64
	for j := range s.x {
		mat.Col(col, j, s.jac)
		if l := norm(col); l > 0 {
			largest = max(largest, math.Abs(dot(col, s.r))/(l*math.Sqrt(s.rss)))
		}
	}
	return largest
}

func (s *search) scaledNorm(v []float64) float64 {
	scaled := make([]float64, len(v))
	for j, x := range v {
		scaled[j] = s.d[j] * x
	}
	return norm(scaled)
}

// gain returns the reduction of RSS, actual and foretold, relative to RSS.
// Foretold: (|J s|² + 2λ|D s|²)/|r|² (Moré 1978, section 4).
func (s *search) gain(tr, step []float64, length float64) (gain, foretold float64) {
	js := mat.NewVecDense(s.p.Observations, nil)
	js.MulVec(s.jac, mat.NewVecDense(len(step), step))
	foretold = (mat.Dot(js, js) + 2*s.lambda*length*length) / s.rss
	if !finite(tr) {
		return math.Inf(-1), foretold
	}
	// As a sum of (r-t)(r+t): the difference of two nearly equal sums would lose it.
	var sum float64
	for i, r := range s.r {
		sum += (r - tr[i]) * (r + tr[i])
	}
	return sum / s.rss, foretold
}

// resize fits the trust region to how good the forecast was.
func (s *search) resize(gain, foretold, length float64) {
	ratio := 0.0
	if foretold > 0 {
		ratio = gain / foretold
	}
	switch {
	case ratio <= 0.25:
		shrink := 0.5
		if gain < 0 {
			shrink = 0.1 // far off: the parabola through the two sums may be trusted no better
		}
		s.radius = shrink * min(s.radius, 10*length)
		s.lambda /= shrink
	case ratio >= 0.75 || s.lambda == 0:
		s.radius = 2 * length
		s.lambda /= 2
	}
}

// result computes the covariance at the best parameters.
func (s *search) result(status Status, knownSigma bool) (*Nonlinear, error) {
	m, n := s.p.Observations, len(s.x)
	out := &Nonlinear{
		Parameters: s.x, Residuals: s.r, RSS: s.rss, Dof: m - n,
		Iterations: s.iterations, Status: status,
	}
	if out.Dof > 0 {
		out.ResidualSD = math.Sqrt(s.rss / float64(out.Dof))
	}
	if err := s.jacobian(); err != nil {
		return out, fmt.Errorf("minimise: %w", err)
	}
	f := factor(s.jac.RawMatrix().Data, m, n)
	if f.rank() < n {
		return out, fmt.Errorf("minimise: %w", ErrRank)
	}
	out.Covariance = f.covariance()
	if !knownSigma {
		out.Covariance.ScaleSym(out.ResidualSD*out.ResidualSD, out.Covariance)
	}
	return out, nil
}
