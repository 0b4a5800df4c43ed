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
	drawn     = 2000
	drawSteps = 12   // at most, of one draw's fit
	drawDone  = 0.02 // standard uncertainties, below which a step ends it
)

// draws returns parameter sets from the posterior: what was observed and what is known beforehand is scattered anew by its uncertainty, and the
// model is fitted to that, by Gauss-Newton steps with the solution's Jacobian (randomise, then optimise: J. M. Bardsley et al., SIAM J. Sci.
// Comput. 36 (2014) A1895; from memory). For a model that is linear over the posterior this is exact, and a bent one it follows. The
// scatter's own uncertainty is drawn along (chi squared). What is not possible is left out, and the wide pseudo-observation of unknowns that
// nothing is known of is weighed out again. spread is by how much the variances grow for errors that neighbours share. share is how many of
// the draws were of use.
func (p *problem) draws(ctx context.Context, s *solution, spread float64) (sets [][]float64, share float64, err error) {
	gain, err := p.gain(s, spread)
	if err != nil {
		return nil, 0, err
	}
	all, weight := make([][]float64, drawn), make([]float64, drawn)
	g, ctx := errgroup.WithContext(ctx)
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		g.Go(func() error {
			d := &drawer{problem: p.clone(), s: s, spread: spread, gain: gain}
			d.begin()
			for i := w; i < drawn; i += workers {
				if ctx.Err() != nil {
					return ctx.Err()
				}
				all[i], weight[i] = d.draw(rand.New(rand.NewPCG(p.in.Seed, 1<<32+uint64(i))))
				if w == 0 && p.in.Progress != nil {
					p.in.Progress(i, drawn)
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

// gain returns (J'WJ)^-1 J'W: it turns residuals into the step that takes them away.
func (p *problem) gain(s *solution, spread float64) (*mat.Dense, error) {
	c, err := p.covariance(s, spread)
	if err != nil {
		return nil, err
	}
	rows, n := s.jacobian.Dims()
	g := mat.NewDense(n, rows, nil)
	g.Mul(c, s.jacobian.T())
	for i := range p.rows {
		for j := range n {
			g.Set(j, i, g.At(j, i)/spread)
		}
	}
	return g, nil
}

// drawer makes draws in one goroutine.
type drawer struct {
	*problem
	s      *solution
	spread float64
	gain   *mat.Dense
	sd     []float64 // of each parameter

	r, e []float64
	x    *mat.VecDense
}

func (d *drawer) begin() {
	rows, n := d.s.jacobian.Dims()
	d.r, d.e, d.x = make([]float64, rows), make([]float64, rows), mat.NewVecDense(n, nil)
	for j := range n {
		d.sd = append(d.sd, math.Sqrt(d.spread*d.s.covariance.At(j, j)))
	}
}

// draw returns one parameter set and the logarithm of its weight, -Inf where it is of no use.
func (d *drawer) draw(r *rand.Rand) ([]float64, float64) {
	chi := 0.0
	dof := max(3, int(d.s.dof/d.spread))
	for range dof {
		z := r.NormFloat64()
		chi += z * z
	}
	scatter := math.Sqrt(d.spread * float64(dof) / chi)
	for i := range d.e {
		d.e[i] = r.NormFloat64()
		if i < d.rows {
			d.e[i] *= scatter
		}
	}
	x := append([]float64(nil), d.s.x...)
	done := false
	for k := 0; k < drawSteps && !done; k++ {
		d.residuals(x, d.r)
		for i := range d.r {
			d.r[i] += d.e[i]
		}
		d.x.MulVec(d.gain, mat.NewVecDense(len(d.r), d.r))
		done = true
		for j := range x {
			step := d.x.AtVec(j)
			if math.IsNaN(step) {
				return nil, math.Inf(-1)
			}
			x[j] -= step
			done = done && math.Abs(step) < drawDone*d.sd[j]
		}
	}
	if !done {
		return nil, math.Inf(-1)
	}
	return x, d.weight(x)
}

// weight takes out the pseudo-observations of unknowns of which nothing is known beforehand, and all that is not possible.
func (d *drawer) weight(x []float64) float64 {
	w := 0.0
	for j, v := range d.values(x) {
		u := &d.in.Unknowns[j]
		if v < u.Least || v > u.Most {
			return math.Inf(-1)
		}
		if u.U == 0 {
			z := (v - u.Start) / u.prior()
			w += z * z / 2
		}
	}
	return w
}

// resample draws as many sets in proportion to their weights (systematic).
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
	at, step := r.Float64()*sum/drawn, sum/drawn
	run := 0.0
	for i := range all {
		for run += logWeight[i]; at < run && len(sets) < drawn; at += step {
			sets = append(sets, all[i])
		}
	}
	r.Shuffle(len(sets), func(i, j int) { sets[i], sets[j] = sets[j], sets[i] })
	return sets, sum * sum / squares / float64(len(all)), nil
}
