package motion

import (
	"math"

	"padside/noise"
)

// drags are equally spaced values of x in k = mostDrag x^2, which is finer towards no drag.
type drags struct{ from, to float64 } // of x, 0 to 1

const dropDrags = 14

// each visits the middles of dropDrags cells with the logarithm of the prior's share of each:
// half-Cauchy in k.
func (r drags) each(do func(x, k, logPrior float64)) {
	for j := range dropDrags {
		x := r.from + (r.to-r.from)*(float64(j)+0.5)/dropDrags
		k := mostDrag * x * x
		do(x, k, math.Log(x*(r.to-r.from))-math.Log1p(k*k/(dropDrag*dropDrag)))
	}
}

// slightDrag is the logarithm of the share of the best cell below which a cell is not looked at
// more closely.
const slightDrag = -9

// narrowed finds the drags that count for a hypothesis, by halving the range until cells are finer
// than the posterior.
func (d *dropFit) narrowed(w *noise.Whitener) drags {
	r := drags{0, 1}
	for range 4 {
		best := math.Inf(-1)
		var x, l []float64
		r.each(func(at, k, prior float64) {
			x = append(x, at)
			p, ok := d.at(k, w, prior)
			if !ok {
				p.weight = math.Inf(-1)
			}
			l = append(l, p.weight)
			best = math.Max(best, p.weight)
		})
		step := (r.to - r.from) / dropDrags
		n := drags{r.to, r.from}
		for i := range x {
			if l[i] > best+slightDrag {
				n.from, n.to = math.Min(n.from, x[i]-step), math.Max(n.to, x[i]+step)
			}
		}
		n.from, n.to = math.Max(n.from, r.from), math.Min(n.to, r.to)
		if !(n.to-n.from < 0.7*(r.to-r.from)) {
			break
		}
		r = n
	}
	return r
}

// fallPicks is how many picks of hypotheses are made for the posterior of a fall.
const fallPicks = 16

// posterior is the grid over drag and hypotheses of correlated errors, weighed. Hypotheses are
// picked by how probable they are at one drag (systematic sampling), and count by what they are
// worth on the grid over that.
func (d *dropFit) posterior() []dropPoint {
	list := noise.Hypotheses(statesDoubt(d.flights))
	white, l := make([]*noise.Whitener, len(list)), make([]float64, len(list))
	var total logSum
	for i, h := range list {
		white[i], l[i] = fallWhitener(d.flights, h), math.Inf(-1)
		if p, ok := d.at(dropDrag, white[i], math.Log(h.Prior)); ok {
			l[i] = p.weight
			total.add(l[i])
		}
	}
	var points []dropPoint
	var sum logSum
	run, next := 0.0, 0.5
	for i, h := range list {
		run += fallPicks * math.Exp(l[i]-total.value())
		picks := math.Max(0, math.Ceil(run-next))
		if next += picks; picks == 0 {
			continue
		}
		count := math.Log(h.Prior) - l[i] + math.Log(picks)
		d.narrowed(white[i]).each(func(_, k, prior float64) {
			if p, ok := d.at(k, white[i], prior+count); ok {
				sum.add(p.weight)
				points = append(points, p)
			}
		})
	}
	for i := range points {
		points[i].weight = math.Exp(points[i].weight - sum.value())
	}
	return points
}

// best is the most probable point if no errors are correlated; ok is false where nothing fits.
func (d *dropFit) best() (best dropPoint, ok bool) {
	w := fallWhitener(d.flights, noise.Hypothesis{})
	best.weight = math.Inf(-1)
	drags{0, 1}.each(func(_, k, prior float64) {
		if p, good := d.at(k, w, prior); good && p.weight > best.weight {
			best, ok = p, true
		}
	})
	return best, ok
}
