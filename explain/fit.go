package explain

import (
	"context"
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"

	"padside/fit"
)

// solution is the most probable set of parameters and what belongs to it, under the most probable
// hypothesis.
type solution struct {
	x          []float64
	covariance *mat.SymDense
	jacobian   *mat.Dense // of observations, whitened, and pseudo-observations
	residuals  []float64  // the same
	raw        []float64  // residuals of the observations in m
	rawSlopes  *mat.Dense // and their Jacobian
	told       float64    // how many parameters the observations tell
	dof        float64    // observations less those
	asked      []hypothesis
}

const (
	// outlierAt is how many times the scatter of the others an observation must be off to be set aside, outlierShare how many may be.
	outlierAt    = 6.0
	outlierShare = 0.04
	rounds       = 6
)

// solve fits: how the observations scatter is found along with the parameters, and what lies far off is set aside once.
func (p *problem) solve(ctx context.Context) (*solution, error) {
	x, err := p.begin()
	if err != nil {
		return nil, err
	}
	p.moves(x)
	list := hypotheses(p.stated())
	p.under(&list[0])
	var s *solution
	var best *hypothesis
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
		if round == rounds-1 {
			break
		}
		p.moves(x)
		was := p.spread()
		now := p.weigh(list, s)
		if now == best && math.Abs(math.Log(p.spread()/was)) < 2e-3 {
			break
		}
		best = now
	}
	s.asked = list
	return s, nil
}

// moves finds which observations are in flight.
func (p *problem) moves(x []float64) {
	for _, l := range p.launches {
		first := l.origin + l.step*x[l.first+atMotion]
		for l.moving = 0; l.moving < len(l.t)-1 && l.t[l.moving] <= first; l.moving++ {
		}
	}
}

// spread is the geometric mean of all levels of scatter.
func (p *problem) spread() float64 {
	sum := 0.0
	for _, l := range p.launches {
		sum += math.Log(l.noise[0]*l.noise[1]) / 2
	}
	return math.Exp(sum / float64(len(p.launches)))
}

// minimise finds the least squares from x on, under the launches' errors as they are set.
func (p *problem) minimise(x []float64) (*solution, error) {
	priors := p.priors()
	ws := p.whiteners()
	sol, err := fit.Minimise(fit.Problem{Observations: p.rows + len(priors), Start: x,
		Residuals: func(x, r []float64) { p.residuals(x, r); p.whiten(ws, r) },
		Jacobian:  func(x []float64, j *mat.Dense) { p.jacobian(x, j); p.whitenColumns(ws, j) }},
		fit.NonlinearOptions{KnownSigma: true, Tolerance: 1e-10, MaxIterations: 100})
	if err != nil && !errors.Is(err, fit.ErrRank) {
		return nil, err
	}
	if err != nil {
		return nil, errTangled
	}
	s := &solution{x: sol.Parameters, covariance: sol.Covariance, residuals: sol.Residuals, raw: make([]float64, p.rows+len(priors)),
		rawSlopes: mat.NewDense(p.rows+len(priors), p.n, nil)}
	p.jacobian(s.x, s.rawSlopes)
	p.residuals(s.x, s.raw)
	s.jacobian = mat.DenseCopyOf(s.rawSlopes)
	p.whitenColumns(ws, s.jacobian)
	s.told = float64(p.n)
	for k, q := range priors {
		d := s.jacobian.At(p.rows+k, q.parameter)
		s.told -= s.covariance.At(q.parameter, q.parameter) * d * d
	}
	s.dof = math.Max(1, float64(p.rows)-s.told)
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
			if size[k] > limit {
				continue
			}
			keep = append(keep, k)
			if k < l.rest {
				rest++
			}
		}
		if gone := len(own) - len(keep); gone == 0 || float64(gone) > outlierShare*float64(len(own)) {
			continue
		}
		l.aside = len(own) - len(keep)
		count += l.aside
		l.rest = rest
		l.t, l.h, l.u, l.way = pick(l.t, keep), pick(l.h, keep), pick(l.u, keep), pick(l.way, keep)
		l.frame, l.phase, l.doubtU = pick(l.frame, keep), pick(l.phase, keep), pick(l.doubtU, keep)
	}
	return count
}

func pick[T any](v []T, keep []int) []T {
	out := make([]T, 0, len(keep))
	for _, k := range keep {
		out = append(out, v[k])
	}
	return out
}
