package timebase

import "math"

// Gradient is a measured delay for each px of the upright picture, s/px (x right, y down), with its
// covariance, s²/px². A rolling shutter that reads rows has no X, one that reads columns no Y.
type Gradient struct {
	X, Y float64
	Cov  [2][2]float64
	Free float64 // degrees of freedom of the covariance's scale, above 1; 0: it is known
}

// Misfit is how far a delay lies off what was measured: the squared distance in units of the
// covariance, chi-square with two degrees of freedom if the delay is true.
func (g Gradient) Misfit(d Delay) float64 {
	x, y := d.X-g.X, d.Y-g.Y
	a, b, c := g.inverse()
	return a*x*x + 2*b*x*y + c*y*y
}

// inverse is that of the covariance: (a, b; b, c).
func (g Gradient) inverse() (a, b, c float64) {
	v := &g.Cov
	det := v[0][0]*v[1][1] - v[0][1]*v[1][0]
	return v[1][1] / det, -v[0][1] / det, v[0][0] / det
}

// Narrowed is what is left of the scans where a gradient was measured: Bayes' rule, with the scans
// as prior and the measured gradient normal about the true one or, where the scale of its
// covariance is uncertain, of a t distribution in two dimensions: what it has across a scan's own
// direction, where there is nothing, then tells how far it may be off along it. A measurement that
// is impossible by all scans tells of something else, and leaves them as they are.
func Narrowed(scans []Scan, g Gradient) []Scan {
	var out []Scan
	var total float64
	for _, s := range scans {
		if s, p := s.narrowed(g); p > 0 {
			s.P *= p
			total += s.P
			out = append(out, s)
		}
	}
	if !(total > leastLikelihood) {
		return scans
	}
	for i := range out {
		out[i].P /= total
	}
	return out
}

// leastLikelihood is the likelihood, against that of the best gradient, of scans that may still be
// meant: seven standard uncertainties off.
const leastLikelihood = 1e-11

// narrowed is a scan after the measurement, and how likely the measurement was by it.
func (s Scan) narrowed(g Gradient) (Scan, float64) {
	a, b, c := g.inverse()
	ex, ey := s.Readout.X/s.Rows, s.Readout.Y/s.Rows // of a readout of 1 s, s/px
	// The misfit along the scan's line is that of the nearest readout and (T - at)²/u².
	w := a*ex*ex + 2*b*ex*ey + c*ey*ey
	if !(w > 0) {
		return s, 0
	}
	at := (ex*(a*g.X+b*g.Y) + ey*(b*g.X+c*g.Y)) / w
	q := g.Misfit(Delay{X: at * ex, Y: at * ey})
	off, u := math.Exp(-q/2), 1/math.Sqrt(w)
	if v := g.Free; v > 0 {
		// (1 + (q + z²)/v)^-(v+2)/2 is a t along z, of v + 1 degrees and this variance.
		off, u = math.Pow(1+q/v, -(v+2)/2), u*math.Sqrt((v+q)/(v-1))
	}
	switch {
	case s.U > 0 && s.High > s.Low: // narrowed before
		return s.times(at, u, off)
	case s.U > 0 || s.Mean != 0:
		v := s.U*s.U + u*u
		p := off * u / math.Sqrt(v) * math.Exp(-(s.Mean-at)*(s.Mean-at)/(2*v))
		s.Mean, s.U = (s.Mean*u*u+at*s.U*s.U)/v, s.U*u/math.Sqrt(v)
		return s, p
	case s.High > s.Low:
		p := off * math.Sqrt(2*math.Pi) * u / (s.High - s.Low) * (phi((s.High-at)/u) - phi((s.Low-at)/u))
		s.Mean, s.U = at, u
		return s, p
	default:
		z := (s.Low - at) / u
		return s, off * math.Exp(-z*z/2)
	}
}

// times multiplies a normal that is cut off with another normal, of at and u.
func (s Scan) times(at, u, off float64) (Scan, float64) {
	v := s.U*s.U + u*u
	was := phi((s.High-s.Mean)/s.U) - phi((s.Low-s.Mean)/s.U)
	p := off * u / math.Sqrt(v) * math.Exp(-(s.Mean-at)*(s.Mean-at)/(2*v))
	s.Mean, s.U = (s.Mean*u*u+at*s.U*s.U)/v, s.U*u/math.Sqrt(v)
	return s, p * (phi((s.High-s.Mean)/s.U) - phi((s.Low-s.Mean)/s.U)) / was
}

// phi is the standard normal distribution, with enough digits in its lower tail.
func phi(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// GradientOf is mean and covariance of the delays for each px that scans allow. No scans are a
// global shutter.
func GradientOf(scans []Scan) Gradient {
	r := NewReader(scans, nil)
	var g Gradient
	if r == nil {
		return g
	}
	g.X, g.Y = r.mean.X, r.mean.Y
	last := 0.0
	for i, n := range r.nodes {
		p := r.sum[i] - last
		last = r.sum[i]
		x, y := n.delay.X-g.X, n.delay.Y-g.Y
		g.Cov[0][0] += p * x * x
		g.Cov[0][1] += p * x * y
		g.Cov[1][1] += p * y * y
	}
	g.Cov[1][0] = g.Cov[0][1]
	return g
}
