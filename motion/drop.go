package motion

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"padside/fault"
	"padside/metrology"
)

// Priors of what air does to a falling ball (all derived from ball data; the balls people
// drop are 0.04 to 0.07 m across).
const (
	// Drag takes k v^2 off the acceleration. k = g/vt^2 with terminal speeds of 9 m/s (a
	// table tennis ball) upwards: half-normal with this standard deviation (vt = 14 m/s).
	dropDrag = 0.05 // 1/m
	// Buoyancy and added mass take up to 3/2 of the ratio of air to ball density off: 0 to
	// 2.4 %, most balls less than 1.2 %. Exponential with this mean.
	dropBuoyancy = 0.005
)

// mostMisfit is how far the residuals of the best fall may exceed the trace's own uncertainty.
// Drawn drops reach 0.8 to 1.2 (TestDropCheck), and the uncertainty a trace states is right
// within a factor of two; beyond, what moves is not a fall from rest: a hand that lowers the
// object first, a landing, something else that was followed.
const mostMisfit = 2.5

// fall is the model of a drop: at rest at h0 until t0, then
//
//	h = h0 + (1/k) ln cosh(T sqrt(A k)),  T = t - t0,  A = g (1 - b),
//
// the exact fall under gravity g with quadratic drag k v^2 (any textbook of mechanics;
// differentiate twice). T and h in SI.
type fall struct{ h0, a, t0, k float64 }

func (f *fall) height(t float64) float64 {
	T := t - f.t0
	if T <= 0 {
		return f.h0
	}
	if x := f.a * f.k * T * T; x > 1e-6 {
		r := math.Sqrt(x)
		// ln cosh r = r + ln((1+exp(-2r))/2)
		return f.h0 + (r+math.Log1p(math.Exp(-2*r))-math.Ln2)/f.k
	}
	return f.h0 + f.a*T*T/2*(1-f.a*f.k*T*T/6)
}

// dropPoint is one point of the posterior of (t0, k): with h0 and a normal given both.
type dropPoint struct {
	fall   fall
	root   mat.TriDense // Cholesky factor of the covariance of (h0, a), for unit noise
	level  float64      // noise factor, estimated at this point
	dof    float64
	weight float64
	lever  []float64 // d a / d y of each frame
}

// freeFall answers free_fall_acceleration: the posterior of release instant, drag, rest
// level and acceleration on a grid, the noise level taken from the residuals (Student-t).
func (m *measurement) freeFall(n int) (metrology.Answer, []float64, []fault.Warning) {
	in := m.in
	a := metrology.Answer{ID: FreeFallAcceleration, Lane: in.Lane, Unit: "m/s2"}
	if g := in.Questions.Gravity.Value; g > 0 {
		a.Expected = &g
	}
	obs, cut := untilLanding(in.Observations)
	var warn []fault.Warning
	if cut > 0 {
		warn = append(warn, fault.Warning{Code: "landing-left-out", Message: fmt.Sprintf(
			"the fall ends %d frames before the last one: the frames from the landing on are not used for the free-fall acceleration", cut)})
	}
	points := dropGrid(obs)
	if points == nil {
		a.Status, a.Reason = metrology.Insufficient, "too few frames show the fall, or it is not one"
		return a, nil, warn
	}
	if misfit := mostLikely(points).level; misfit > mostMisfit {
		a.Status, a.Reason = metrology.Insufficient, fmt.Sprintf("the motion is no fall from rest: it leaves the best one by %.2g times the trace's uncertainty", misfit)
		return a, nil, warn
	}
	d := dropDraws{in: in, obs: obs, points: points}
	values := d.draw(n, "")
	var held [][]float64
	for _, name := range m.sources {
		held = append(held, d.draw(min(n, budgetDraws), name))
	}
	fillAnswer(&a, values)
	a.Budget = budget(values, held, m.sources)
	return a, values, warn
}

// untilLanding returns the frames up to the last before the speed drops by half at once, and
// how many were cut off.
func untilLanding(obs []Observation) ([]Observation, int) {
	top := 0.0
	for i := 2; i < len(obs); i++ {
		v := (obs[i].H - obs[i-1].H) / (obs[i].T - obs[i-1].T)
		u := 6 * math.Hypot(obs[i].U, obs[i-1].U) / (obs[i].T - obs[i-1].T)
		if top > 0 && v < 0.5*top-u {
			return obs[:i], len(obs) - i
		}
		top = math.Max(top, v)
	}
	return obs, 0
}

// dropGrid finds the posterior on a grid over release instant and drag.
func dropGrid(obs []Observation) []dropPoint {
	move := firstOff(obs)
	if move < 0 || len(obs)-move < 5 {
		return nil
	}
	step := (obs[len(obs)-1].T - obs[0].T) / float64(len(obs)-1)
	first := obs[0].T - step
	if move == 1 {
		first = obs[0].T - 0.5*(obs[len(obs)-1].T-obs[0].T)
	}
	lo, hi := first, obs[min(move, len(obs)-1)].T
	const coarse, fine, drags = 120, 60, 12
	at := func(t0, k float64) dropPoint { return fitFall(obs, t0, k) }
	best, where := math.Inf(-1), lo
	for i := range coarse {
		t := lo + (hi-lo)*(float64(i)+0.5)/coarse
		if p := at(t, dropDrag/2); p.weight > best {
			best, where = p.weight, t
		}
	}
	width := 2 * (hi - lo) / coarse
	for range 6 { // widen or narrow until the edges are far down
		edge := math.Max(at(where-width, 0).weight, at(where+width, dropDrag*2).weight)
		if edge < best-40 {
			width *= 0.6
		} else if edge > best-12 {
			width *= 2
		}
	}
	var points []dropPoint
	var sum logSum
	for i := range fine {
		t := where + width*(2*(float64(i)+0.5)/fine-1)
		for j := range drags {
			p := at(t, 3*dropDrag*(float64(j)+0.5)/drags)
			sum.add(p.weight)
			points = append(points, p)
		}
	}
	for i := range points {
		points[i].weight = math.Exp(points[i].weight - sum.value())
	}
	return points
}

// fitFall fits h0 and a by Gauss-Newton for a given release and drag; weight is the
// logarithm of the marginal posterior.
func fitFall(obs []Observation, t0, k float64) dropPoint {
	p := dropPoint{fall: fall{a: 9.8, t0: t0, k: k}}
	n := len(obs)
	var s00, s01, s11, ssr float64
	da := make([]float64, n)
	for range 4 {
		s00, s01, s11 = 0, 0, 0
		var b0, b1 float64
		for i, o := range obs {
			const e = 1e-3
			g := p.fall
			g.a += e
			da[i] = (g.height(o.T) - p.fall.height(o.T)) / e
			w := 1 / (o.U * o.U)
			r := o.H - p.fall.height(o.T)
			s00, s01, s11 = s00+w, s01+w*da[i], s11+w*da[i]*da[i]
			b0, b1 = b0+w*r, b1+w*r*da[i]
		}
		det := s00*s11 - s01*s01
		if !(det > 1e-12*s00*s11) {
			p.weight = math.Inf(-1)
			return p
		}
		p.fall.h0 += (s11*b0 - s01*b1) / det
		p.fall.a = math.Max(0.1, p.fall.a+(s00*b1-s01*b0)/det)
	}
	for _, o := range obs {
		r := (o.H - p.fall.height(o.T)) / o.U
		ssr += r * r
	}
	det := s00*s11 - s01*s01
	// noise factor: a log-normal about one, worth as much as 4 more residuals of size one
	p.dof = float64(n-2) + 4
	p.level = math.Sqrt((ssr + 4) / p.dof)
	x := k / dropDrag
	p.weight = -0.5*p.dof*math.Log(ssr+4) - 0.5*math.Log(det) - 0.5*x*x
	cov := mat.NewSymDense(2, []float64{s11 / det, -s01 / det, -s01 / det, s00 / det})
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		p.weight = math.Inf(-1)
		return p
	}
	chol.LTo(&p.root)
	p.lever = make([]float64, n)
	for i, o := range obs {
		p.lever[i] = (s00*da[i] - s01) / det / (o.U * o.U)
	}
	return p
}

// dropDraws draws the free-fall acceleration.
type dropDraws struct {
	in     *Input
	obs    []Observation
	points []dropPoint
}

// draw returns n draws with one source of the common errors held.
func (d *dropDraws) draw(n int, hold string) []float64 {
	r := stream(d.in.Seed, 0x64726f70)
	cdf := make([]float64, len(d.points))
	var c float64
	for i := range d.points {
		c += d.points[i].weight
		cdf[i] = c
	}
	best := mostLikely(d.points)
	out := make([]float64, n)
	for i := range out {
		p := &d.points[pick(cdf, (float64(i)+r.Float64())/float64(n)*c)]
		var chi2 float64
		dof := int(p.dof)
		for range dof {
			z := r.NormFloat64()
			chi2 += z * z
		}
		level := p.level * math.Sqrt(p.dof/chi2)
		x, y := r.NormFloat64(), r.NormFloat64()
		a := p.fall.a + level*(p.root.At(1, 0)*x+p.root.At(1, 1)*y)
		buoyancy := dropBuoyancy * r.ExpFloat64()
		if hold == traceNoise {
			p, a, buoyancy = best, best.fall.a, dropBuoyancy
		}
		tr := d.in.truth(i, hold)
		for j, o := range d.obs {
			h := p.fall.height(o.T)
			y, _, _ := tr.warp.At(h)
			a += p.lever[j] * (y - h)
		}
		out[i] = a / (1 - buoyancy) / (tr.clock * tr.clock)
	}
	return out
}

// mostLikely returns the point of the largest weight.
func mostLikely(points []dropPoint) *dropPoint {
	best := &points[0]
	for i := range points {
		if points[i].weight > best.weight {
			best = &points[i]
		}
	}
	return best
}

// pick returns the first index at which the cumulated weights reach x.
func pick(cdf []float64, x float64) int {
	lo, hi := 0, len(cdf)-1
	for lo < hi {
		if m := (lo + hi) / 2; cdf[m] < x {
			lo = m + 1
		} else {
			hi = m
		}
	}
	return lo
}
