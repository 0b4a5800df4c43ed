package explain

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/mat"
)

const (
	proposals   = 4000
	resampled   = 2000
	proposalDof = 6 // of the Student distribution proposed from: its tails hold what a bent posterior needs
)

// draws returns parameter sets from the posterior: proposals from a Student distribution around the solution, weighed by their exact posterior and
// resampled (D. B. Rubin 1988, sampling importance resampling; from memory). The scatter of the observations is integrated over: with a
// flat prior of its logarithm the likelihood is S^(-dof/2) in their sum of squares S. spread is by how much the variances grow for
// errors that neighbours share. share is how many of the proposals the weights are worth.
func (p *problem) draws(ctx context.Context, s *solution, spread float64) (sets [][]float64, share float64, err error) {
	cov, err := p.covariance(s, spread)
	if err != nil {
		return nil, 0, err
	}
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		return nil, 0, errTangled
	}
	var root mat.TriDense
	chol.LTo(&root)
	all, weight := make([][]float64, proposals), make([]float64, proposals)
	g, ctx := errgroup.WithContext(ctx)
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		g.Go(func() error {
			q := p.clone()
			r := make([]float64, p.rows+len(p.priors()))
			z, x := mat.NewVecDense(p.n, nil), mat.NewVecDense(p.n, nil)
			for i := w; i < proposals; i += workers {
				if ctx.Err() != nil {
					return ctx.Err()
				}
				src := rand.New(rand.NewPCG(p.in.Seed, 1<<32+uint64(i)))
				length := 0.0
				for k := range p.n {
					v := src.NormFloat64()
					z.SetVec(k, v)
					length += v * v
				}
				chi := 0.0
				for range proposalDof {
					v := src.NormFloat64()
					chi += v * v
				}
				stretch := math.Sqrt(proposalDof / chi)
				x.MulVec(&root, z)
				one := make([]float64, p.n)
				for k := range one {
					one[k] = s.x[k] + stretch*x.AtVec(k)
				}
				all[i] = one
				// log density of the proposal, up to a constant
				proposed := -float64(p.n+proposalDof) / 2 * math.Log1p(length*stretch*stretch/proposalDof)
				weight[i] = q.posterior(s, one, r, spread) - proposed
				if w == 0 && p.in.Progress != nil {
					p.in.Progress(i, proposals)
				}
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return nil, 0, err
	}
	return resample(all, weight, rand.New(rand.NewPCG(p.in.Seed, 7)))
}

// posterior is the logarithm of the posterior density of x, up to a constant; -Inf where something is not possible.
func (p *problem) posterior(s *solution, x, r []float64, spread float64) float64 {
	for j, v := range p.values(x) {
		if u := &p.in.Unknowns[j]; v < u.Least || v > u.Most {
			return math.Inf(-1)
		}
	}
	p.residuals(x, r)
	sum, known := 0.0, 0.0
	for j := range p.log { // the density is over the unknowns themselves
		known -= 2 * math.Log(p.slope(j, x[j]))
	}
	for _, v := range r[:p.rows] {
		sum += v * v
	}
	for k, v := range r[p.rows:] {
		if k < len(p.in.Unknowns) && p.in.Unknowns[k].U == 0 {
			continue // nothing is known beforehand: all that is possible is as probable
		}
		known += v * v
	}
	if math.IsNaN(sum) {
		return math.Inf(-1)
	}
	return -s.dof/(2*spread)*math.Log(sum/s.sum) - known/2
}

// resample draws sets in proportion to their weights (systematic).
func resample(all [][]float64, logWeight []float64, r *rand.Rand) (sets [][]float64, share float64, err error) {
	top := math.Inf(-1)
	for _, w := range logWeight {
		top = math.Max(top, w)
	}
	if math.IsInf(top, -1) {
		return nil, 0, errImpossible
	}
	var sum, squares float64
	for i, w := range logWeight {
		logWeight[i] = math.Exp(w - top)
		sum += logWeight[i]
		squares += logWeight[i] * logWeight[i]
	}
	at, step := r.Float64()*sum/resampled, sum/resampled
	run := 0.0
	for i := range all {
		for run += logWeight[i]; at < run && len(sets) < resampled; at += step {
			sets = append(sets, all[i])
		}
	}
	r.Shuffle(len(sets), func(i, j int) { sets[i], sets[j] = sets[j], sets[i] })
	return sets, sum * sum / squares / float64(len(all)), nil
}
