package camera

import (
	"math"
	"math/rand/v2"
	"sort"
)

// noise is what is known of the factor k by which the marks' scatter differs from their
// stated uncertainty: a density on a grid of ln k.
//
// Beforehand, a statement is right to about a tenth, or too large by a little more; but a share
// of statements is too small, with density k^-(1 + slipPower) above 1. The residuals then speak:
// with dof degrees of freedom and the sum of squares chi2 in stated standard uncertainties, their
// likelihood is k^-dof exp(-chi2/(2 k^2)), times that of other evidence. Marks' errors times draws of k
// are what Student's t is for a sample of unknown variance: wider the fewer the marks, and
// wide where they scatter.
//
// The share is a choice, made by simulation: with it intervals of right statements hold the
// truth 93 to 97 % of the time, whatever the number of marks, and those of marks that scatter
// three times as stated hold it as often as that allows (bench/scale). Where nothing can check a
// statement it is nearly taken at its word, as GUM 4.3 takes what is stated: a larger share
// would only widen every interval.
type noise struct {
	log        []float64 // ln k at the cells' middles
	cumulative []float64 // up to each cell's end; the last is 1
	best       float64   // median
}

const (
	tooLarge      = 0.2 // standard deviation of ln k below 0
	tooSmall      = 0.1 // the same above 0, where the statement is right
	slipPower     = 1.0
	slipUnchecked = 0.06 // share of statements that are too small, where no residual tells
	slipChecked   = 0.25 // where residuals do, from so many on:
	checks        = 1.5
	noiseCells    = 160
	leastNoise    = 0.4 // k at the grid's ends
	mostNoise     = 40.0
)

// evidence is what else than the marks' own residuals tells of k.
type evidence struct {
	likelihood func(k float64) float64 // natural logarithm of it
	dof        float64                 // how many residuals it is worth, 0 to 1
}

// newNoise weighs the factor.
func newNoise(dof int, chi2 float64, other evidence) noise {
	n := noise{log: make([]float64, noiseCells), cumulative: make([]float64, noiseCells)}
	low, step := math.Log(leastNoise), math.Log(mostNoise/leastNoise)/noiseCells
	slip := slipUnchecked + (slipChecked-slipUnchecked)*min(1, (float64(dof)+other.dof)/checks)
	weights := make([]float64, noiseCells)
	top := math.Inf(-1)
	for i := range n.log {
		l := low + (float64(i)+0.5)*step
		n.log[i] = l
		k := math.Exp(l)
		prior := noisePrior(l, slip)
		weights[i] = math.Log(prior) - float64(dof)*l - chi2/(2*k*k)
		if other.likelihood != nil {
			weights[i] += other.likelihood(k)
		}
		top = max(top, weights[i])
	}
	var sum float64
	for i, w := range weights {
		sum += math.Exp(w - top)
		n.cumulative[i] = sum
	}
	for i := range n.cumulative {
		n.cumulative[i] /= sum
	}
	n.best = n.quantile(0.5)
	return n
}

// noisePrior is the density of l = ln k before any residual is seen.
func noisePrior(l, slip float64) float64 {
	spread, tail := tooLarge, 0.0
	if l > 0 {
		spread, tail = tooSmall, slip*slipPower*math.Exp(-slipPower*l)
	}
	peak := (1 - slip) / ((tooLarge + tooSmall) / 2 * math.Sqrt(2*math.Pi))
	return peak*math.Exp(-l*l/(2*spread*spread)) + tail
}

// quantile returns k at a share of its distribution, linear in ln k within a cell.
func (n *noise) quantile(share float64) float64 {
	i := min(sort.SearchFloat64s(n.cumulative, share), len(n.cumulative)-1)
	before := 0.0
	if i > 0 {
		before = n.cumulative[i-1]
	}
	part := 0.5
	if w := n.cumulative[i] - before; w > 0 {
		part = (share - before) / w
	}
	step := n.log[1] - n.log[0]
	return math.Exp(n.log[i] + (part-0.5)*step)
}

// draw returns one possible k.
func (n *noise) draw(r *rand.Rand) float64 { return n.quantile(r.Float64()) }
