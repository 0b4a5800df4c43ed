package motion

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"padside/noise"
)

// dropFit fits the acceleration a of one or more free flights, each with a height and a speed of its own to start from, and
// the errors z that all heights share (a priori standard normal), for a given drag and a given hypothesis
// about correlated errors: Gauss-Newton on
//
//	sum (L^-1 (y(H_i; z) - way_i(a, k, h, v))/y'(H_i; z))^2 / level^2 + z'z
//
// with L the Cholesky factor of the trace's covariance (noise.Whitener). The slope y' turns residuals back into heights as they were traced, for it
// is those that err by what is stated: without it a smaller scale would seem to fit better. Parameters: a, then z, then h and v of each flight.
type dropFit struct {
	flights []freeFlight
	shared  *shared
}

// dropPoint is one point of the posterior over drag and hypotheses: given both, all else is normal about its best values.
type dropPoint struct {
	a, k   float64
	start  []fall
	level  float64   // factor on the trace's stated uncertainty
	dof    float64   // of the level
	noise  float64   // standard deviation of a by the trace's errors, at this level
	gain   []float64 // change of a with each z as drawn
	misfit float64   // root mean square residual in stated uncertainties, frame by frame
	off    float64   // the same in metres
	weight float64   // natural logarithm of the marginal posterior, later its share
}

func (d *dropFit) frames() (n int) {
	for _, f := range d.flights {
		n += len(f)
	}
	return n
}

// start guesses where each flight begins and how fast, from a parabola through its ends and its middle.
func (d *dropFit) start(a float64) []fall {
	var list []fall
	for _, f := range d.flights {
		first, last := f[0], f[len(f)-1]
		T := last.T - first.T
		h0, h1 := d.shared.warp(first.H), d.shared.warp(last.H)
		list = append(list, fall{a: a, t0: first.T, h: h0, v: (h1-h0)/T - a*T/2})
	}
	return list
}

// Gauss-Newton ends after a step of less than dropStep, or after dropSteps of them.
const (
	dropSteps = 8
	dropStep  = 1e-6 // m/s2
)

// at fits everything else for the drag k and the errors whose whitener is w; z0, the drawn centre of z, is zero. It returns
// false where the frames do not determine the acceleration.
func (d *dropFit) at(k float64, w *noise.Whitener, prior float64) (dropPoint, bool) {
	n, nz := d.frames(), len(d.shared.root)
	m := 1 + nz + 2*len(d.flights)
	p := dropPoint{k: k, a: 9.8, start: d.start(9.8), level: 1}
	z := make([]float64, nz)
	var normal *mat.SymDense // the trace's part, at level 1
	var chol mat.Cholesky
	var ssr float64
	for range dropSteps {
		res, rows := d.linear(&p, z)
		ssr = 0
		w.Apply(res)
		for _, r := range res {
			ssr += r * r
		}
		for _, row := range rows {
			w.Apply(row)
		}
		p.dof = float64(n-2*len(d.flights)-1) + noiseWorth
		p.level = math.Sqrt((ssr + noiseWorth) / p.dof)
		normal = mat.NewSymDense(m, nil)
		full := mat.NewSymDense(m, nil)
		rhs := mat.NewVecDense(m, nil)
		for i := range m {
			var b float64
			for q, r := range res {
				b += rows[i][q] * r
			}
			for j := i; j < m; j++ {
				var s float64
				for q := range res {
					s += rows[i][q] * rows[j][q]
				}
				normal.SetSym(i, j, s)
				full.SetSym(i, j, s/(p.level*p.level))
			}
			b /= p.level * p.level
			if i >= 1 && i <= nz {
				full.SetSym(i, i, full.At(i, i)+1)
				b -= z[i-1]
			}
			rhs.SetVec(i, b)
		}
		if !chol.Factorize(full) || chol.Cond() > 1e14 {
			return p, false
		}
		var step mat.VecDense
		if chol.SolveVecTo(&step, rhs) != nil {
			return p, false
		}
		p.a = math.Max(0.1, p.a+step.AtVec(0))
		for i := range z {
			z[i] += step.AtVec(1 + i)
		}
		for j := range p.start {
			p.start[j].h += step.AtVec(1 + nz + 2*j)
			p.start[j].v += step.AtVec(2 + nz + 2*j)
		}
		if math.Abs(step.AtVec(0)) < dropStep {
			break
		}
	}
	p.conclude(&chol, normal, nz)
	var zz float64
	for _, x := range z {
		zz += x * x
	}
	l2 := p.level * p.level
	p.weight = prior - float64(n)*math.Log(p.level) - w.LogSD - ssr/(2*l2) - zz/2 - chol.LogDet()/2 -
		noiseWorth/2*(2*math.Log(p.level)+1/l2)
	d.residuals(&p, z)
	return p, true
}

// noiseWorth is how many residuals of size one the statement of the trace's uncertainty is worth.
const noiseWorth = 4

// conclude takes the acceleration's row of the inverse: how it answers to the trace's errors and to z.
func (p *dropPoint) conclude(chol *mat.Cholesky, normal *mat.SymDense, nz int) {
	m := normal.SymmetricDim()
	unit := mat.NewVecDense(m, nil)
	unit.SetVec(0, 1)
	var q mat.VecDense
	if chol.SolveVecTo(&q, unit) != nil {
		return
	}
	var v float64
	for i := range m {
		for j := range m {
			v += q.AtVec(i) * normal.At(i, j) * q.AtVec(j)
		}
	}
	p.noise = math.Sqrt(v) / p.level
	for i := range nz {
		p.gain = append(p.gain, q.AtVec(1+i))
	}
}

// linear returns the residuals (y - way)/y' and the slopes of (way - y)/y' in each parameter.
func (d *dropFit) linear(p *dropPoint, z []float64) (res []float64, rows [][]float64) {
	nz := len(z)
	n := d.frames()
	rows = make([][]float64, 1+nz+2*len(d.flights))
	for i := range rows {
		rows[i] = make([]float64, n)
	}
	res = make([]float64, n)
	i := 0
	for j, f := range d.flights {
		s := &p.start[j]
		s.a, s.k = p.a, p.k
		const e = 1e-4
		more, less, faster, slower := *s, *s, *s, *s
		more.a, less.a, faster.v, slower.v = s.a+e, s.a-e, s.v+e, s.v-e
		for _, o := range f {
			per := 1 / d.shared.stretch(z, o.H)
			res[i] = (d.shared.warp(o.H) - s.at(o.T)) * per
			for q := range z {
				res[i] += d.shared.slope(q, o.H) * per * z[q]
			}
			for q := range z { // where the body is, not where noise shows it: else noise would shrink the scale
				rows[1+q][i] = -d.shared.slope(q, o.H-res[i]) * per
			}
			rows[0][i] = (more.at(o.T) - less.at(o.T)) / (2 * e) * per
			rows[1+nz+2*j][i] = per
			rows[2+nz+2*j][i] = (faster.at(o.T) - slower.at(o.T)) / (2 * e) * per
			i++
		}
	}
	return res, rows
}

// residuals sets how far the frames lie off.
func (d *dropFit) residuals(p *dropPoint, z []float64) {
	res, _ := d.linear(p, z)
	i := 0
	var rel, abs float64
	for _, f := range d.flights {
		for _, o := range f {
			rel += res[i] * res[i] / (o.U * o.U)
			abs += res[i] * res[i]
			i++
		}
	}
	p.misfit, p.off = math.Sqrt(rel/float64(i)), math.Sqrt(abs/float64(i))
}

// drags are equally spaced values of x in k = mostDrag x^2, which is finer towards no drag.
type drags struct{ from, to float64 } // of x, 0 to 1

const dropDrags = 14

// each visits the middles of dropDrags cells with the logarithm of the prior's share of each: half-Cauchy in k.
func (r drags) each(do func(x, k, logPrior float64)) {
	for j := range dropDrags {
		x := r.from + (r.to-r.from)*(float64(j)+0.5)/dropDrags
		k := mostDrag * x * x
		do(x, k, math.Log(x*(r.to-r.from))-math.Log1p(k*k/(dropDrag*dropDrag)))
	}
}

// slightDrag is the logarithm of the share of the best cell below which a cell is not looked at more closely.
const slightDrag = -9

// narrowed finds the drags that count for a hypothesis, by halving the range until cells are finer than the posterior.
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

// posterior is the grid over drag and hypotheses of correlated errors, weighed. Hypotheses are picked
// by how probable they are at one drag (systematic sampling), and count by what they are worth on the grid over that.
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
