package explain

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// supposition is one way in which the errors in flight may hang together: the drift's size over what is stated of it, its length over the time in
// flight or, along the way, over the height in view, and how probable it is beforehand. What errs with time is how the vehicle's picture changes; with
// the place, what lies behind it, and the lens. Answers are averaged over all suppositions by how probable each makes what was seen.
type supposition struct {
	size, length, prior float64
	place, rough        bool // the drift goes with the height; see drift

	noise    [][2]float64 // of each launch, most probable under it
	evidence float64      // logarithm of the probability of what was seen, but for a constant
	weight   float64      // its share of all
}

// Where slow errors are stated, quicker ones than launch.slowest may be of any size up to that, twice as much, or, less probably, four times. Where none are, the odds are nine to one that there are none, and any there are have the size of half a frame's noise,
// half-Cauchy.
var (
	driftSizes     = []float64{0, 0.25, 0.5, 1, 2, 4}
	statedOdds     = []float64{0.2, 0.2, 0.2, 0.2, 0.15, 0.05}
	unstatedOdds   = []float64{0.9, 0.013, 0.022, 0.028, 0.022, 0.013}
	driftLengths   = []float64{1. / 30, 1. / 10, 1. / 3}
	unstatedDrifts = 0.5
)

func suppositions(stated bool) []supposition {
	odds := unstatedOdds
	if stated {
		odds = statedOdds
	}
	list := []supposition{{prior: odds[0]}}
	for i, size := range driftSizes[1:] {
		for _, length := range driftLengths {
			for kind := range 4 {
				list = append(list, supposition{size: size, length: length, place: kind&1 > 0, rough: kind&2 > 0, prior: odds[i+1] / float64(4*len(driftLengths))})
			}
		}
	}
	return list
}

// under sets the launches' errors to a supposition.
func (p *problem) under(q *supposition) {
	for i, l := range p.launches {
		l.drift = l.supposed(q)
		if q.noise != nil {
			l.noise = q.noise[i]
		}
	}
}

// supposed is a launch's drift under a supposition.
func (l *launch) supposed(q *supposition) drift {
	size := l.slowU
	if size == 0 {
		size = unstatedDrifts * l.unit * l.alone
	}
	along := l.t
	if q.place {
		along = l.way
	}
	return drift{q.size * size, q.length * (along[len(along)-1] - along[l.moving]), q.rough, along}
}

// whiten turns the observations' rows of r into independent ones of unit variance.
func (p *problem) whiten(ws []*whitener, r []float64) {
	for i, l := range p.launches {
		ws[i].apply(r[l.row : l.row+len(l.t)])
	}
}

// whitenColumns does so for each column of j.
func (p *problem) whitenColumns(ws []*whitener, j *mat.Dense) {
	rows, n := j.Dims()
	column := make([]float64, rows)
	for c := range n {
		mat.Col(column, c, j)
		p.whiten(ws, column)
		j.SetCol(c, column)
	}
}

func (p *problem) whiteners() []*whitener {
	var out []*whitener
	for _, l := range p.launches {
		out = append(out, l.whitener())
	}
	return out
}

// weigh finds how probable each supposition makes the residuals of a solution, in the model linear about it: the parameters are integrated
// out,
//
//	ln p = -(least sum of squares)/2 - ln det(J'J)/2 - sum of ln sd.
//
// It returns the most probable one and leaves the launches under it.
func (p *problem) weigh(list []supposition, s *solution) *supposition {
	top := math.Inf(-1)
	var best *supposition
	for i := range list {
		q := &list[i]
		p.under(q)
		q.noise = p.levels(s)
		if i == 0 {
			for k, l := range p.launches {
				l.alone = q.noise[k][1]
			}
		}
		q.evidence = p.evidence(s)
		if v := q.evidence + math.Log(q.prior); v > top {
			top, best = v, q
		}
	}
	sum := 0.0
	for i := range list {
		q := &list[i]
		q.weight = math.Exp(math.Log(q.prior) + q.evidence - top)
		sum += q.weight
	}
	for i := range list {
		list[i].weight /= sum
	}
	p.under(best)
	return best
}

// evidence is that of all suppositions together.
func evidence(list []supposition) float64 {
	top := math.Inf(-1)
	for i := range list {
		top = math.Max(top, list[i].evidence)
	}
	sum := 0.0
	for i := range list {
		sum += list[i].prior * math.Exp(list[i].evidence-top)
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
		out -= w.logSD
	}
	return out
}

// levels finds by how much the observations scatter over what is stated of each, at rest and in flight, with the drift as set: the most probable
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
	noise := l.noise
	if l.rest >= fewestLevel {
		sum := 0.0
		for k, x := range v[:l.rest] {
			sum += x * x / (l.u[k] * l.u[k])
		}
		noise[0] = math.Max(math.Sqrt(sum/float64(l.rest-1)), leastLevel)
	}
	n := float64(len(l.t) - l.rest)
	if n < fewestLevel {
		return noise
	}
	before := l.noise
	told = math.Min(told, n/2)
	if l.drift.size == 0 {
		sum := 0.0
		for k := l.rest; k < len(v); k++ {
			sum += v[k] * v[k] / (l.u[k] * l.u[k])
		}
		noise[1] = math.Max(math.Sqrt(sum/(n-told)), leastLevel)
	} else {
		r := make([]float64, len(v))
		noise[1] = leastOf(leastLevel, 30, func(level float64) float64 {
			l.noise = [2]float64{noise[0], level}
			w := l.whitener()
			copy(r, v)
			w.apply(r)
			sum := 0.0
			for _, x := range r[l.rest:] {
				sum += x * x
			}
			for k := l.rest; k < len(v); k++ {
				sum -= 2 * math.Log(w.inv[k]) * (n - told) / n
			}
			return sum
		})
		l.noise = before
	}
	if l.rest < fewestLevel {
		noise[0] = noise[1]
	}
	return noise
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
