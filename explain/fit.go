package explain

import (
	"context"
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"

	"padside/fit"
)

// solution is the most probable set of parameters and what belongs to it.
type solution struct {
	x          []float64
	covariance *mat.SymDense
	jacobian   *mat.Dense // of observations and pseudo-observations
	residuals  []float64
	sum        float64 // of the squared residuals of the observations
	dof        float64 // of them: observations less the parameters they determine
}

const (
	// outlierAt is how many times the scatter of the others an observation must be off to be set aside, outlierShare how many may be.
	outlierAt    = 6.0
	outlierShare = 0.04
	rounds       = 6
)

// solve fits: the scatter of the observations is found along with the parameters, and what lies far off is set aside once.
func (p *problem) solve(ctx context.Context) (*solution, error) {
	x, err := p.begin()
	if err != nil {
		return nil, err
	}
	var s *solution
	for round := range rounds {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if s, err = p.minimise(x); err != nil {
			return nil, err
		}
		x = s.x
		if round == 0 && p.setAside(s.residuals) > 0 {
			p.layout()
			continue
		}
		if round == rounds-1 || !p.rescale(s) {
			break
		}
	}
	return s, nil
}

// fewestLevel is how many frames at rest, or in flight, show their own scatter.
const fewestLevel = 8

// rescale sets the scatter at rest and in flight of each launch by its residuals, and says whether that changed anything.
func (p *problem) rescale(s *solution) bool {
	changed := false
	per := (float64(p.rows) - s.dof) / float64(len(p.launches)) // parameters told by each launch's flight
	for _, l := range p.launches {
		own := s.residuals[l.row : l.row+len(l.t)]
		for part, r := range [2][]float64{own[:l.rest], own[l.rest:]} {
			if len(r) < fewestLevel {
				continue
			}
			told := 1.0
			if part == 1 {
				told = math.Min(per, float64(len(r))/2)
			}
			sum := 0.0
			for _, v := range r {
				sum += v * v
			}
			level := math.Sqrt(sum / (float64(len(r)) - told))
			changed = changed || math.Abs(level-1) > 2e-3
			l.noise[part] = math.Max(l.noise[part]*level, 1e-3)
		}
		if l.rest < fewestLevel {
			l.noise[0] = l.noise[1]
		}
	}
	return changed
}

// minimise finds the least squares from x on.
func (p *problem) minimise(x []float64) (*solution, error) {
	priors := p.priors()
	sol, err := fit.Minimise(fit.Problem{Observations: p.rows + len(priors), Residuals: p.residuals, Jacobian: p.jacobian, Start: x},
		fit.NonlinearOptions{KnownSigma: true, Tolerance: 1e-10, MaxIterations: 100})
	if err != nil && !errors.Is(err, fit.ErrRank) {
		return nil, err
	}
	if err != nil {
		return nil, errTangled
	}
	s := &solution{x: sol.Parameters, covariance: sol.Covariance, residuals: sol.Residuals, jacobian: mat.NewDense(p.rows+len(priors), p.n, nil)}
	p.jacobian(s.x, s.jacobian)
	told := float64(p.n) // by the observations
	for k, q := range priors {
		d := s.jacobian.At(p.rows+k, q.parameter)
		told -= s.covariance.At(q.parameter, q.parameter) * d * d
	}
	for _, r := range s.residuals[:p.rows] {
		s.sum += r * r
	}
	s.dof = math.Max(1, float64(p.rows)-told)
	return s, nil
}

// errTangled cannot be: every unknown has a pseudo-observation.
var errTangled = errors.New("explain: the unknowns cannot be told apart at all")

// setAside removes observations that lie far off all others and returns how many.
func (p *problem) setAside(r []float64) int {
	count := 0
	for _, l := range p.launches {
		own := r[l.row : l.row+len(l.t)]
		size := make([]float64, len(own))
		for k := range own {
			size[k] = math.Abs(own[k])
		}
		limit := outlierAt * 1.4826 * middle(size)
		var keep []int
		rest := 0
		for k := range own {
			if size[k] <= limit {
				keep = append(keep, k)
			}
		}
		if gone := len(own) - len(keep); gone == 0 || float64(gone) > outlierShare*float64(len(own)) {
			continue
		}
		l.aside = len(own) - len(keep)
		count += l.aside
		for _, k := range keep {
			if k >= l.rest {
				break
			}
			rest++
		}
		l.rest = rest
		pick := func(v []float64) []float64 {
			var out []float64
			for _, k := range keep {
				out = append(out, v[k])
			}
			return out
		}
		var frame []int
		for _, k := range keep {
			frame = append(frame, l.frame[k])
		}
		l.t, l.h, l.u, l.frame = pick(l.t), pick(l.h), pick(l.u), frame
	}
	return count
}
