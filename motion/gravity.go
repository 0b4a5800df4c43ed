package motion

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"padside/noise"
)

// dropFit fits the acceleration a of one or more free flights, each with a height and a speed of
// its own to start from, and the errors z that all heights share (a priori standard normal), for a
// given drag and a given hypothesis about correlated errors: Gauss-Newton on
//
//	sum (L^-1 (y(H_i; z) - way_i(a, k, h, v))/y'(H_i; z))^2 / level^2 + z'z
//
// with L the Cholesky factor of the trace's covariance (noise.Whitener). The slope y' turns
// residuals back into heights as they were traced, for it is those that err by what is stated:
// without it a smaller scale would seem to fit better. Parameters: a, then z, then h and v of each
// flight.
type dropFit struct {
	flights []freeFlight
	shared  *shared
}

// dropPoint is one point of the posterior over drag and hypotheses: given both, all else is normal
// about its best values.
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

// at fits everything else for the drag k and the errors whose whitener is w; z0, the drawn centre
// of z, is zero. It returns false where the frames do not determine the acceleration.
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
