package motion

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

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

// Which frames show the free fall. The first part of it is left out: a hand that lets go moves, and
// rubs. Falling freely, what came before does not matter: with any speed the object follows the curve of
// one let go at rest earlier and higher up.
const (
	flightFrom   = 0.28 // of the highest speed: a twelfth of the fall is behind
	fewestFlying = 6    // frames
)

// inFlight returns the frames from release, and some speed, until the landing, and how many after the
// landing were cut off.
func inFlight(obs []Observation) (flying []Observation, cut int) {
	end := landing(obs)
	cut = len(obs) - end
	if cut > 0 {
		end-- // it may show the beginning of the impact
	}
	obs = obs[:max(end, 0)]
	speed := func(i int) float64 {
		a, b := obs[max(i-2, 0)], obs[min(i+2, len(obs)-1)]
		return (b.H - a.H) / (b.T - a.T)
	}
	top := 0.0
	for i := 2; i < len(obs)-2; i++ {
		top = math.Max(top, math.Min(speed(i), math.Min(speed(i-1), speed(i+1))))
	}
	from := len(obs) - 1
	for from > 1 && (speed(from) > flightFrom*top || speed(from-1) > flightFrom*top) {
		from--
	}
	return obs[max(from, 0):], cut
}

// landing returns the first frame of a stretch of three in which the speed has dropped by half at
// once, or the number of frames.
func landing(obs []Observation) int {
	v := func(i, j int) float64 { return (obs[j].H - obs[i].H) / (obs[j].T - obs[i].T) }
	top := 0.0
	for i := 4; i < len(obs); i++ {
		a, b, c := v(i-4, i-3), v(i-3, i-2), v(i-2, i-1)
		top = math.Max(top, math.Max(math.Min(a, b), math.Min(math.Max(a, b), c))) // the middle one
		// seen from two frames, so that one that is off does not look like a landing
		slow := top > 0
		for _, base := range [...]int{i - 1, i - 2} {
			for j := 2*i - 1 - base; j < min(2*i+2-base, len(obs)); j++ {
				u := 6 * math.Hypot(obs[base].U, obs[j].U) / (obs[j].T - obs[base].T)
				slow = slow && v(base, j) < 0.5*top-u
			}
		}
		if slow {
			return i
		}
	}
	return len(obs)
}

// A frame this many times the scatter of the others off the best fall is left out; at most
// outlierShare of them are.
const fallOutlierAt = 5.0

// withoutOutliers leaves frames out that lie far off the best fall.
func withoutOutliers(obs []Observation) ([]Observation, []dropPoint) {
	points := dropGrid(obs)
	for limit := int(outlierShare * float64(len(obs))); limit > 0 && points != nil; limit-- {
		best := mostLikely(points).fall
		off := make([]float64, len(obs))
		worst := 0
		for i, o := range obs {
			off[i] = math.Abs(o.H-best.height(o.T)) / o.U
			if off[i] > off[worst] {
				worst = i
			}
		}
		const perSD = 0.6745 // median of the size of a standard normal number
		if off[worst] < fallOutlierAt*math.Max(median(off)/perSD, 0.5) {
			break
		}
		obs = append(append([]Observation(nil), obs[:worst]...), obs[worst+1:]...)
		points = dropGrid(obs)
	}
	return obs, points
}

// dropGrid finds the posterior on a grid over (virtual) release instant and drag.
func dropGrid(obs []Observation) []dropPoint {
	n := len(obs)
	if n < fewestFlying {
		return nil
	}
	const coarse, fine, drags = 60, 60, 12
	hi := obs[0].T
	lo := hi - (obs[n-1].T - hi)
	at := func(t0, k float64) dropPoint { return fitFall(obs, t0, k) }
	best, where := math.Inf(-1), lo
	for i := range coarse {
		t := lo + (hi-lo)*(float64(i)+0.5)/coarse
		if p := at(t, dropDrag); p.weight > best {
			best, where = p.weight, t
		}
	}
	width := 2 * (hi - lo) / coarse
	for range 8 { // widen or narrow until the edges are far down
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
			x := (float64(j) + 0.5) / drags // finer towards no drag
			p := at(t, mostDrag*x*x)
			p.weight += math.Log(x)
			sum.add(p.weight)
			points = append(points, p)
		}
	}
	if !sum.any {
		return nil
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
	p.weight = -0.5*p.dof*math.Log(ssr+4) - 0.5*math.Log(det) - math.Log1p(x*x)
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
