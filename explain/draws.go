package explain

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"

	"gonum.org/v1/gonum/mat"

	"padside/guard"
	"padside/noise"
)

const (
	drawn     = 2000
	drawSteps = 12   // at most, of one draw's fit
	drawDone  = 0.02 // standard uncertainties, below which a step ends it
)

// draws returns parameter sets from the posterior: what was observed and what is known beforehand
// is scattered anew by its uncertainty, and the model is fitted to that, by Gauss-Newton steps with
// the solution's Jacobian (randomise, then optimise: J. M. Bardsley et al., SIAM J. Sci. Comput. 36
// (2014) A1895; from memory). For a model that is linear over the posterior this is exact, and a
// bent one it follows. The scatter's own uncertainty is drawn along (chi squared). What is not
// possible is left out, and the wide pseudo-observation of unknowns that nothing is known of is
// weighed out again. Each hypothesis on the errors that neighbours share has draws by its
// probability. share is how many of the draws were of use.
func (p *problem) draws(ctx context.Context, s *solution) (sets [][]float64, share float64, err error) {
	all, weight := make([][]float64, drawn), make([]float64, drawn)
	turns := allot(s.asked)
	g, ctx := guard.WithContext(ctx)
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		g.Go(func() error {
			d := &drawer{problem: p.clone(), s: s, at: -1}
			d.begin()
			for i := w; i < drawn; i += workers {
				if ctx.Err() != nil {
					return ctx.Err()
				}
				if err := d.under(turns[i]); err != nil {
					return err
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

// allot gives each draw a hypothesis, by their weights (systematic).
func allot(list []hypothesis) []int {
	turns := make([]int, 0, drawn)
	run := 0.0
	for i := range list {
		for run += list[i].weight; len(turns) < drawn && (float64(len(turns))+0.5)/drawn < run; {
			turns = append(turns, i)
		}
	}
	for len(turns) < drawn { // what rounding leaves
		turns = append(turns, len(list)-1)
	}
	return turns
}

// drawer makes draws in one goroutine.
type drawer struct {
	*problem
	s    *solution
	at   int // the hypothesis under which draws are made
	ws   []*noise.Whitener
	gain *mat.Dense // (J'J)^-1 J': turns residuals into the step that takes them away
	sd   []float64  // of each parameter

	r, e []float64
	x    *mat.VecDense
}

func (d *drawer) begin() {
	rows, n := d.s.jacobian.Dims()
	d.r, d.e, d.x = make([]float64, rows), make([]float64, rows), mat.NewVecDense(n, nil)
}

// under readies the drawer for a hypothesis.
func (d *drawer) under(k int) error {
	if k == d.at {
		return nil
	}
	d.at = k
	d.problem.under(&d.s.asked[k])
	d.ws = d.whiteners()
	a := mat.DenseCopyOf(d.s.rawSlopes)
	d.whitenColumns(d.ws, a)
	rows, n := a.Dims()
	var normal, c mat.SymDense
	normal.SymOuterK(1, a.T())
	var chol mat.Cholesky
	if !chol.Factorize(&normal) || chol.InverseTo(&c) != nil {
		return errTangled
	}
	d.gain = mat.NewDense(n, rows, nil)
	d.gain.Mul(&c, a.T())
	d.sd = d.sd[:0]
	for j := range n {
		d.sd = append(d.sd, math.Sqrt(c.At(j, j)))
	}
	return nil
}

// draw returns one parameter set and the logarithm of its weight, -Inf where it is of no use.
func (d *drawer) draw(r *rand.Rand) ([]float64, float64) {
	chi := 0.0
	dof := max(3, int(d.s.dof))
	for range dof {
		z := r.NormFloat64()
		chi += z * z
	}
	scatter := math.Sqrt(float64(dof) / chi)
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
		d.whiten(d.ws, d.r)
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
