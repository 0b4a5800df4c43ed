package explain

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"padside/noise"
)

// hypothesis is one about the correlated errors of flight (package noise), and what it says. Answers are averaged over all hypotheses by how
// probable each makes what was seen.
type hypothesis struct {
	noise.Hypothesis
	levels   [][2]float64 // of each launch, most probable under it
	evidence float64      // logarithm of the probability of what was seen, but for a constant
	weight   float64      // its share of all
}

func hypotheses(stated bool) []hypothesis {
	var list []hypothesis
	for _, h := range noise.Hypotheses(stated) {
		list = append(list, hypothesis{Hypothesis: h})
	}
	return list
}

// stated reports whether any launch states correlated errors.
func (p *problem) stated() bool {
	return slices.ContainsFunc(p.launches, func(l *launch) bool { return l.stated })
}

// under sets the launches' errors to a hypothesis.
func (p *problem) under(q *hypothesis) {
	for i, l := range p.launches {
		l.correlated = q.Hypothesis
		if q.levels != nil {
			l.noise = q.levels[i]
		}
	}
}

// whiten turns the observations' rows of r into independent ones of unit variance.
func (p *problem) whiten(ws []*noise.Whitener, r []float64) {
	for i, l := range p.launches {
		ws[i].Apply(r[l.row : l.row+len(l.t)])
	}
}

// whitenColumns does so for each column of j.
func (p *problem) whitenColumns(ws []*noise.Whitener, j *mat.Dense) {
	rows, n := j.Dims()
	column := make([]float64, rows)
	for c := range n {
		mat.Col(column, c, j)
		p.whiten(ws, column)
		j.SetCol(c, column)
	}
}

func (p *problem) whiteners() []*noise.Whitener {
	var out []*noise.Whitener
	for _, l := range p.launches {
		out = append(out, l.whitener())
	}
	return out
}

// weigh finds how probable each hypothesis makes the residuals of a solution, in the model linear about it: the parameters are integrated
// out,
//
//	ln p = -(least sum of squares)/2 - ln det(J'J)/2 - sum of ln sd.
//
// It returns the most probable one and leaves the launches under it.
func (p *problem) weigh(list []hypothesis, s *solution) *hypothesis {
	top := math.Inf(-1)
	var best *hypothesis
	for i := range list {
		q := &list[i]
		p.under(q)
		q.levels = p.levels(s)
		if i == 0 {
			for k, l := range p.launches {
				l.alone = q.levels[k][1]
			}
		}
		q.evidence = p.evidence(s)
		if v := q.evidence + math.Log(q.Prior); v > top {
			top, best = v, q
		}
	}
	sum := 0.0
	for i := range list {
		q := &list[i]
		q.weight = math.Exp(math.Log(q.Prior) + q.evidence - top)
		sum += q.weight
	}
	for i := range list {
		list[i].weight /= sum
	}
	p.under(best)
	return best
}

// evidence is that of all hypothesiss together.
func evidence(list []hypothesis) float64 {
	top := math.Inf(-1)
	for i := range list {
		top = math.Max(top, list[i].evidence)
	}
	sum := 0.0
	for i := range list {
		sum += list[i].Prior * math.Exp(list[i].evidence-top)
	}
	return top + math.Log(sum)
}

// evidence is that of the launches' errors as they are set.
func (p *problem) evidence(s *solution) float64 {
	ws := p.whiteners()
	a := mat.DenseCopyOf(s.rawSlopes)
	p.whitenColumns(ws, a)
	r := append([]float64(nil), s.raw...)
	p.whiten(ws, r)
	rows, n := a.Dims()
	var qr mat.QR
	qr.Factorize(a)
	b := mat.NewDense(rows, 1, r)
	var x, fitted mat.Dense
	if qr.SolveTo(&x, false, b) != nil {
		return math.Inf(-1)
	}
	fitted.Mul(a, &x)
	least := 0.0
	for i, v := range r {
		e := v - fitted.At(i, 0)
		least += e * e
	}
	var upper mat.Dense
	qr.RTo(&upper)
	out := -least / 2
	for i := range n {
		out -= math.Log(math.Abs(upper.At(i, i)))
	}
	for _, w := range ws {
		out -= w.LogSD
	}
	return out
}

// levels finds by how much the observations scatter over what is stated of each, at rest and in flight, with correlated errors as set: the most probable
// factors for the residuals, corrected for the parameters fitted.
func (p *problem) levels(s *solution) [][2]float64 {
	var out [][2]float64
	for _, l := range p.launches {
		l.noise = l.scatter(s.raw[l.row:l.row+len(l.t)], s.told/float64(len(p.launches)))
		out = append(out, l.noise)
	}
	return out
}

// fewestLevel is how many frames at rest, or in flight, show their own scatter.
const fewestLevel = 8

// leastLevel is the smallest scatter that is believed, of what is stated.
const leastLevel = 1e-3

// scatter finds a launch's levels; told parameters are told by its flight.
func (l *launch) scatter(v []float64, told float64) [2]float64 {
	levels := l.noise
	if l.rest >= fewestLevel {
		sum := 0.0
		for k, x := range v[:l.rest] {
			sum += x * x / (l.u[k] * l.u[k])
		}
		levels[0] = math.Max(math.Sqrt(sum/float64(l.rest-1)), leastLevel)
	}
	n := float64(len(l.t) - l.rest)
	if n < fewestLevel {
		return levels
	}
	before := l.noise
	told = math.Min(told, n/2)
	if l.correlated.Size == 0 {
		sum := 0.0
		for k := l.rest; k < len(v); k++ {
			sum += v[k] * v[k] / (l.u[k] * l.u[k])
		}
		levels[1] = math.Max(math.Sqrt(sum/(n-told)), leastLevel)
	} else {
		r := make([]float64, len(v))
		levels[1] = leastOf(leastLevel, 30, func(level float64) float64 {
			l.noise = [2]float64{levels[0], level}
			w := l.whitener()
			copy(r, v)
			w.Apply(r)
			sum := 0.0
			for _, x := range r[l.rest:] {
				sum += x * x
			}
			for k := l.rest; k < len(v); k++ {
				sum -= 2 * math.Log(w.InverseSD(k)) * (n - told) / n
			}
			return sum
		})
		l.noise = before
	}
	if l.rest < fewestLevel {
		levels[0] = levels[1]
	}
	return levels
}

// leastOf finds where f is least between lo and hi, to half a percent, by golden sections of the logarithm.
func leastOf(lo, hi float64, f func(float64) float64) float64 {
	const golden = 0.6180339887498949
	a, b := math.Log(lo), math.Log(hi)
	c, d := b-golden*(b-a), a+golden*(b-a)
	fc, fd := f(math.Exp(c)), f(math.Exp(d))
	for b-a > 0.005 {
		if fc < fd {
			b, d, fd = d, c, fc
			c = b - golden*(b-a)
			fc = f(math.Exp(c))
		} else {
			a, c, fc = c, d, fd
			d = a + golden*(b-a)
			fd = f(math.Exp(d))
		}
	}
	return math.Exp((a + b) / 2)
}
