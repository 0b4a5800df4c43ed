package timebase

import "math"

// drift is stamps that stray, each by itself, from the times of a camera whose rate drifts: the
// frame interval does a random walk. Stamp i, less a straight line, is
//
//	y = x + e,  e ~ N(0, j^2);  x' = d,  d' white of spectral density q = l j^2 per frame
//
// (integrated random walk: a cubic smoothing spline; Wahba, Spline Models for Observational Data,
// 1990, 1.5). j follows from the innovations; l is unknown, and summed over.
type drift struct {
	number, y    []float64 // frames; s off the line
	start, slope float64   // s, the line; s per frame
}

// driftRates are the values of l beside none at all, evenly spaced in the logarithm: from a rate
// that drifts less than a clip shows to one that is another at each frame. No drift has the
// probability noDrift.
var driftRates = [...]float64{1e-7, 1e-6, 1e-5, 1e-4, 3e-4, 1e-3, 3e-3, 1e-2, 3e-2, 0.1, 0.3}

const noDrift = 0.3

// newDrift takes a straight line out of stamps t by least squares.
func newDrift(t []float64) (d drift, usual float64) {
	d.number, usual = numbered(t)
	var n, x, y, xx, xy float64
	for i, k := range d.number {
		n, x, y, xx, xy = n+1, x+k, y+t[i], xx+k*k, xy+k*t[i]
	}
	d.slope = (xy - x*y/n) / (xx - x*x/n)
	d.start = (y - d.slope*x) / n
	for i, k := range d.number {
		d.y = append(d.y, t[i]-d.start-d.slope*k)
	}
	return d, usual
}

// smoothed returns the mean of all rates of drift by their probability, and the root mean square of
// what they leave open.
func (d *drift) smoothed() *Even {
	each := []pass{d.filter(0)}
	best := each[0].logP + math.Log(noDrift)
	each[0].logP = best
	for _, l := range driftRates {
		p := d.filter(l)
		p.logP += math.Log((1 - noDrift) / float64(len(driftRates)))
		best = math.Max(best, p.logP)
		each = append(each, p)
	}
	n := len(d.y)
	mean, sq := make([]float64, n), make([]float64, n)
	var total float64
	for _, p := range each {
		share := math.Exp(p.logP - best)
		if share < 1e-4 {
			continue
		}
		total += share
		x, v := p.back()
		for i := range x {
			mean[i] += share * x[i]
			sq[i] += share * (v[i] + x[i]*x[i])
		}
	}
	e := &Even{Times: mean}
	var sum float64
	for i := range mean {
		m := mean[i] / total
		sum += math.Max(0, sq[i]/total-m*m)
		mean[i] = d.start + d.slope*d.number[i] + m
	}
	e.U = math.Sqrt(sum / float64(n))
	return e
}

// state is offset and slope with their covariance, in units of j^2.
type state struct{ x, d, xx, xd, dd float64 }

// on moves a state on by k frames.
func (s state) on(k, l float64) state {
	return state{s.x + k*s.d, s.d,
		s.xx + 2*k*s.xd + k*k*s.dd + l*k*k*k/3, s.xd + k*s.dd + l*k*k/2, s.dd + l*k}
}

// pass is one pass of the Kalman filter over the stamps.
type pass struct {
	logP         float64 // ln of the likelihood, j at its most probable
	jj           float64 // j^2, s2
	before, upTo []state // given the stamps before each frame, and up to it
	number       []float64
}

// vague is the variance of offset and slope beforehand, in units of j^2: so large that it says
// nothing.
const vague = 1e8

func (d *drift) filter(l float64) pass {
	p := pass{number: d.number}
	s := state{xx: vague, dd: vague}
	var misfit, logs float64
	for i, y := range d.y {
		if i > 0 {
			s = s.on(d.number[i]-d.number[i-1], l)
		}
		p.before = append(p.before, s)
		f := s.xx + 1
		r := y - s.x
		misfit, logs = misfit+r*r/f, logs+math.Log(f)
		gx, gd := s.xx/f, s.xd/f
		s = state{s.x + gx*r, s.d + gd*r, s.xx - gx*s.xx, s.xd - gx*s.xd, s.dd - gd*s.xd}
		p.upTo = append(p.upTo, s)
	}
	dof := float64(len(d.y) - 2)
	p.jj = misfit / dof
	p.logP = -0.5*dof*math.Log(math.Max(p.jj, math.SmallestNonzeroFloat64)) - 0.5*logs
	return p
}

// back smooths: offsets (s) and their variances (s2), given all stamps (Rauch, Tung & Striebel,
// AIAA J. 3:1445, 1965, from memory).
func (p *pass) back() (x, v []float64) {
	n := len(p.upTo)
	x, v = make([]float64, n), make([]float64, n)
	s := p.upTo[n-1]
	x[n-1], v[n-1] = s.x, s.xx*p.jj
	for i := n - 2; i >= 0; i-- {
		a, b, k := p.upTo[i], p.before[i+1], p.number[i+1]-p.number[i]
		// C = P F' B^-1
		det := b.xx*b.dd - b.xd*b.xd
		fx, fd := a.xx+k*a.xd, a.xd
		gx, gd := a.xd+k*a.dd, a.dd
		cxx, cxd := (fx*b.dd-fd*b.xd)/det, (fd*b.xx-fx*b.xd)/det
		cdx, cdd := (gx*b.dd-gd*b.xd)/det, (gd*b.xx-gx*b.xd)/det
		rx, rd := s.x-b.x, s.d-b.d
		mxx, mxd, mdd := s.xx-b.xx, s.xd-b.xd, s.dd-b.dd
		s = state{a.x + cxx*rx + cxd*rd, a.d + cdx*rx + cdd*rd,
			a.xx + cxx*cxx*mxx + 2*cxx*cxd*mxd + cxd*cxd*mdd,
			a.xd + cxx*cdx*mxx + (cxx*cdd+cxd*cdx)*mxd + cxd*cdd*mdd,
			a.dd + cdx*cdx*mxx + 2*cdx*cdd*mxd + cdd*cdd*mdd}
		x[i], v[i] = s.x, s.xx*p.jj
	}
	return x, v
}
