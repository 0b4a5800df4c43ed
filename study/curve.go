package study

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
)

// A curve's roughness and its launches' own scatter are not known; every pair of these is weighed by what the launches say.
const (
	roughnesses = 10 // from smoothest to roughest, evenly in the logarithm
	scatters    = 8
	// smoothest and roughest bound the spline's roughness as a multiple of the spread of the values: all but a parabola, and a
	// curve that may bend anew between any two launches.
	smoothest, roughest = 0.05, 20.0
	// leastScatter and mostScatter bound the standard deviation by which a launch repeats itself, relative to its value
	// (common practice, no source: bottles and motors repeat to between a few parts in a thousand and several in a hundred).
	leastScatter, mostScatter = 1e-3, 0.1
	// leastWeight is the part of the best pair's weight below which a pair is left out.
	leastWeight = 1e-3
)

// curvePosterior is what launches say of a smooth curve through them. The curve is a quintic smoothing spline: a parabola with a flat
// prior plus a twice integrated Wiener process of unknown roughness (Wahba, Spline Models for Observational Data, 1990, ch. 1; Rasmussen &
// Williams, Gaussian Processes for Machine Learning, 2006, 2.7 and 6.3). Launches scatter about it by what measuring contributes
// and by an unknown scatter of their own. Roughness and scatter have priors flat in the logarithm and are integrated over on a grid.
type curvePosterior struct {
	at     []float64 // where the curve is wanted
	mean   []float64 // over all pairs
	cells  []cell
	weight []float64 // cumulative, the last is 1
	sd     float64   // of a launch about the curve, mean over the pairs
}

// cell is the curve's distribution for one roughness and one scatter.
type cell struct {
	mean []float64
	root mat.TriDense // lower triangle, its square the covariance
}

// newCurve conditions the curve on values y at places x; own is the variance of measuring them. Places are scaled to 0 to 2.
func newCurve(x, y, at []float64, own float64) *curvePosterior {
	lo, hi := x[0], x[len(x)-1]
	scaled := func(v []float64) []float64 {
		z := make([]float64, len(v))
		for i := range v {
			z[i] = 2 * (v[i] - lo) / (hi - lo)
		}
		return z
	}
	low, high, middle := math.Inf(1), math.Inf(-1), 0.0
	for _, v := range y {
		low, high, middle = min(low, v), max(high, v), middle+math.Abs(v)/float64(len(y))
	}
	spread := max(high-low, math.Sqrt(own), 1e-12*middle)
	p := &curvePosterior{at: at}
	g := newGram(scaled(x), scaled(at), y)
	type pair struct{ rough, scatter, log float64 }
	var pairs []pair
	best := math.Inf(-1)
	for i := range roughnesses {
		for j := range scatters {
			q := pair{rough: spread * logStep(smoothest, roughest, i, roughnesses), scatter: middle * logStep(leastScatter, mostScatter, j, scatters)}
			var ok bool
			if q.log, ok = g.evidence(q.rough, own+q.scatter*q.scatter); ok {
				pairs, best = append(pairs, q), max(best, q.log)
			}
		}
	}
	p.mean = make([]float64, len(at))
	total := 0.0
	for _, q := range pairs {
		w := math.Exp(q.log - best)
		if w < leastWeight {
			continue
		}
		c, ok := g.curve(q.rough, own+q.scatter*q.scatter)
		if !ok {
			continue
		}
		total += w
		p.cells, p.weight = append(p.cells, c), append(p.weight, total)
		p.sd += w * math.Sqrt(own+q.scatter*q.scatter)
		for k := range p.mean {
			p.mean[k] += w * c.mean[k]
		}
	}
	for k := range p.mean {
		p.mean[k] /= total
	}
	for k := range p.weight {
		p.weight[k] /= total
	}
	p.sd /= total
	return p
}

// logStep is step i of n from lo to hi, even in the logarithm.
func logStep(lo, hi float64, i, n int) float64 {
	return lo * math.Pow(hi/lo, float64(i)/float64(n-1))
}

// draw draws one curve into v.
func (p *curvePosterior) draw(v []float64, r *rand.Rand) {
	u := r.Float64()
	k := 0
	for k < len(p.weight)-1 && p.weight[k] < u {
		k++
	}
	z := mat.NewVecDense(len(v), nil)
	for i := range v {
		z.SetVec(i, r.NormFloat64())
	}
	var move mat.VecDense
	move.MulVec(&p.cells[k].root, z)
	for i := range v {
		v[i] = p.cells[k].mean[i] + move.AtVec(i)
	}
}

// gram holds what the conditioning needs for every pair: covariances of an integrated Wiener process of unit roughness among the
// launches, between them and the places wanted, and among these; and the parabola's columns.
type gram struct {
	kxx, kax, kaa *mat.Dense
	hx, ha        *mat.Dense
	y             *mat.VecDense
}

func newGram(x, at, y []float64) *gram {
	return &gram{kxx: wiener(x, x), kax: wiener(at, x), kaa: wiener(at, at), hx: parabola(x), ha: parabola(at), y: mat.NewVecDense(len(y), y)}
}

// wiener is the covariance of a twice integrated Wiener process that starts at 0, the integral of (u-t)^2 (v-t)^2/4 from 0 to u, the
// lesser of two places: u^3 (u^2 - 5 u v + 10 v^2)/120.
func wiener(a, b []float64) *mat.Dense {
	k := mat.NewDense(len(a), len(b), nil)
	for i := range a {
		for j := range b {
			u, v := min(a[i], b[j]), max(a[i], b[j])
			k.Set(i, j, u*u*u*(u*u-5*u*v+10*v*v)/120)
		}
	}
	return k
}

// parabola has the columns 1, z, z^2 with z from -1 to 1.
func parabola(at []float64) *mat.Dense {
	h := mat.NewDense(len(at), 3, nil)
	for i, z := range at {
		h.SetRow(i, []float64{1, z - 1, (z - 1) * (z - 1)})
	}
	return h
}

// solved is the generalised least squares solution for one pair.
type solved struct {
	v, a   mat.Cholesky // of the launches' covariance, and of H' V^-1 H
	vh     mat.Dense    // V^-1 H
	beta   mat.VecDense // the parabola
	rest   mat.VecDense // V^-1 (y - H beta)
	square float64      // (y - H beta)' V^-1 (y - H beta)
}

func (g *gram) solve(rough, variance float64) (*solved, bool) {
	n, _ := g.kxx.Dims()
	v := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			v.SetSym(i, j, rough*rough*g.kxx.At(i, j))
		}
		v.SetSym(i, i, v.At(i, i)+variance)
	}
	s := &solved{}
	if !s.v.Factorize(v) || s.v.SolveTo(&s.vh, g.hx) != nil {
		return nil, false
	}
	var hvh mat.Dense
	hvh.Mul(g.hx.T(), &s.vh)
	if !s.a.Factorize(symmetric(&hvh)) {
		return nil, false
	}
	var hvy, base, left mat.VecDense
	hvy.MulVec(s.vh.T(), g.y)
	if s.a.SolveVecTo(&s.beta, &hvy) != nil {
		return nil, false
	}
	base.MulVec(g.hx, &s.beta)
	left.SubVec(g.y, &base)
	if s.v.SolveVecTo(&s.rest, &left) != nil {
		return nil, false
	}
	s.square = mat.Dot(&left, &s.rest)
	return s, true
}

// evidence is the logarithm of the restricted likelihood of a pair, up to what all pairs share.
func (g *gram) evidence(rough, variance float64) (float64, bool) {
	s, ok := g.solve(rough, variance)
	if !ok {
		return 0, false
	}
	return -0.5 * (s.v.LogDet() + s.a.LogDet() + s.square), true
}

// curve is the curve's distribution at the places wanted, for one pair.
func (g *gram) curve(rough, variance float64) (cell, bool) {
	s, ok := g.solve(rough, variance)
	if !ok {
		return cell{}, false
	}
	m, _ := g.ha.Dims()
	var k mat.Dense // covariance with the launches
	k.Scale(rough*rough, g.kax)
	var mean, move mat.VecDense
	mean.MulVec(g.ha, &s.beta)
	move.MulVec(&k, &s.rest)
	mean.AddVec(&mean, &move)
	var vk, kvk, slack, as, sas mat.Dense
	if s.v.SolveTo(&vk, k.T()) != nil {
		return cell{}, false
	}
	kvk.Mul(&k, &vk)
	slack.Mul(&k, &s.vh)
	slack.Sub(g.ha, &slack) // what the parabola's uncertainty adds
	if s.a.SolveTo(&as, slack.T()) != nil {
		return cell{}, false
	}
	sas.Mul(&slack, &as)
	var cov mat.Dense
	cov.Scale(rough*rough, g.kaa)
	cov.Sub(&cov, &kvk)
	cov.Add(&cov, &sas)
	sym := symmetric(&cov)
	most := 0.0
	for i := range m {
		most = max(most, sym.At(i, i))
	}
	for i := range m {
		sym.SetSym(i, i, sym.At(i, i)+1e-9*most) // neighbouring places are nearly one
	}
	var root mat.Cholesky
	if !root.Factorize(sym) {
		return cell{}, false
	}
	c := cell{mean: mean.RawVector().Data}
	root.LTo(&c.root)
	return c, true
}

// symmetric is the symmetric part of a square matrix.
func symmetric(a *mat.Dense) *mat.SymDense {
	n, _ := a.Dims()
	s := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			s.SetSym(i, j, (a.At(i, j)+a.At(j, i))/2)
		}
	}
	return s
}
