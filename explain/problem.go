package explain

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"padside/camera"
	"padside/flight"
)

// problem is the least-squares problem. Its parameters are the unknowns (the logarithm of those that can only be positive: discharge and
// pressure, say, then lie on a straight line where their product is what the footage tells) over their scales, then first motion (in units of a frame
// interval, after origin), rest level of each launch (in units of its heights' uncertainty) and, where stated, the slow errors at its nodes (in units of
// SlowU) and its own errors of scale, then those of each setup. Its rows are the observations of each launch, then one pseudo-observation for all that is known beforehand.
type problem struct {
	in       *Input
	launches []*launch
	setups   []*shared
	scale    []float64 // of each unknown, or of its logarithm
	log      []bool    // whether the logarithm is the parameter
	n        int       // parameters
	rows     int       // observations
}

// launch is one launch as the problem sees it.
type launch struct {
	t, h, u []float64 // of the observations used; u includes the uncertainty of the time
	frame   []int
	step    float64 // s, typical time between frames
	unit    float64 // m, typical uncertainty of a height
	origin  float64 // s, where first motion is looked for
	level   float64 // m, typical height at rest
	aside   int     // observations left out as outliers
	rest    int     // how many of the observations, the first, are at rest
	// How many times their stated uncertainty the observations scatter, at rest and in flight: found along with the rest. A trace's uncertainties in
	// flight may hold what all frames in flight share, and then the scatter is smaller.
	noise [2]float64
	setup *shared
	mean  camera.Warp   // of the errors of the heights
	parts []camera.Warp // of them that are this launch's alone
	slowU float64       // m, of the slow errors; 0: none
	nodes int           // of the slow errors, evenly from origin to the last frame, straight lines between them
	first int           // index of its first parameter
	row   int           // of its first observation

	after, height, speed []float64 // scratch: times after first motion, the model there
}

// Offsets of a launch's parameters from its first.
const (
	atMotion = iota
	atLevel
	atNodes
)

func (l *launch) count() int { return atNodes + l.nodes + len(l.parts) }

// between returns the node before observation k in flight, and how far it is on the way to the next, 0 to 1.
func (l *launch) between(k int) (node int, share float64) {
	x := (l.t[k] - l.origin) / (l.t[len(l.t)-1] - l.origin) * float64(l.nodes-1)
	node = min(max(0, int(x)), l.nodes-2)
	return node, math.Min(math.Max(0, x-float64(node)), 1)
}

// unseen is how many frames in flight may pass before the vehicle is seen to have left rest: they share its slow errors.
const unseen = 3

// slow is the slow error of observation k, m.
func (l *launch) slow(x []float64, k int) float64 {
	if l.nodes == 0 || k < l.rest-unseen {
		return 0
	}
	n, share := l.between(k)
	at := l.first + atNodes + n
	return l.slowU * ((1-share)*x[at] + share*x[at+1])
}

// layout numbers parameters and rows.
func (p *problem) layout() {
	p.n, p.rows = len(p.in.Unknowns), 0
	for _, l := range p.launches {
		l.first, l.row = p.n, p.rows
		p.n += l.count()
		p.rows += len(l.t)
		for _, s := range []*[]float64{&l.after, &l.height, &l.speed} {
			*s = make([]float64, len(l.t))
		}
	}
	for _, s := range p.setups {
		s.first = p.n
		p.n += s.count()
	}
}

// sd is the standard uncertainty of observation k alone.
func (l *launch) sd(k int) float64 {
	if k < l.rest {
		return l.u[k] * l.noise[0]
	}
	return l.u[k] * l.noise[1]
}

// clone returns a problem with scratch of its own.
func (p *problem) clone() *problem {
	q := *p
	q.launches = nil
	for _, l := range p.launches {
		c := *l
		c.after, c.height, c.speed = make([]float64, len(l.t)), make([]float64, len(l.t)), make([]float64, len(l.t))
		q.launches = append(q.launches, &c)
	}
	return &q
}

// prior is a pseudo-observation: of an unknown's value or of another parameter, with its standard uncertainty, and what the knowledge is
// of.
type prior struct {
	parameter int
	value, u  float64
	source    string
}

func (p *problem) priors() []prior {
	var out []prior
	for j := range p.in.Unknowns {
		k := &p.in.Unknowns[j]
		out = append(out, prior{j, k.Start, k.prior(), k.Key})
	}
	for _, l := range p.launches {
		for n := range l.nodes {
			out = append(out, prior{l.first + atNodes + n, 0, 1, traceNoise})
		}
		for k := range l.parts {
			out = append(out, prior{l.first + atNodes + l.nodes + k, 0, 1, scaleError})
		}
	}
	for _, s := range p.setups {
		for k := range s.count() {
			out = append(out, prior{s.first + k, 0, 1, s.source(k)})
		}
	}
	return out
}

// value is unknown j at its parameter x, SI.
func (p *problem) value(j int, x float64) float64 {
	if p.log[j] {
		return math.Exp(x * p.scale[j])
	}
	return x * p.scale[j]
}

// slope is the derivative of value.
func (p *problem) slope(j int, x float64) float64 {
	if p.log[j] {
		return p.scale[j] * math.Exp(x*p.scale[j])
	}
	return p.scale[j]
}

// parameter is the inverse of value.
func (p *problem) parameter(j int, v float64) float64 {
	if p.log[j] {
		return math.Log(v) / p.scale[j]
	}
	return v / p.scale[j]
}

// values are the unknowns of parameters x, SI.
func (p *problem) values(x []float64) []float64 {
	v := make([]float64, len(p.in.Unknowns))
	for j := range v {
		v[j] = p.value(j, x[j])
	}
	return v
}

// fly computes the flight of launch i and puts its heights and speeds at the observations into the scratch.
func (p *problem) fly(i int, x []float64) (*flight.Flight, error) {
	l := p.launches[i]
	clock, t0 := l.setup.clock(x), l.origin+l.step*x[l.first+atMotion]
	for k, t := range l.t {
		l.after[k] = (t - t0) * clock
	}
	span := math.Max(l.after[len(l.after)-1], l.step)
	f, err := p.in.Model(i, p.values(x), span*1.02+0.05)
	if err == nil && f.FirstMotion > 0.05 { // it was held on the pad: follow it for as long again
		f, err = p.in.Model(i, p.values(x), f.FirstMotion+span*1.02+0.05)
	}
	if err != nil {
		return nil, err
	}
	f.Track(l.after, l.height, l.speed)
	return f, nil
}

// residuals fills r: observed less model, over the uncertainty. All are NaN where the model does not fly.
func (p *problem) residuals(x, r []float64) {
	for i, l := range p.launches {
		if _, err := p.fly(i, x); err != nil {
			for k := range r {
				r[k] = math.NaN()
			}
			return
		}
		w := l.warp(x)
		for k := range l.t {
			r[l.row+k] = (l.seen(w, k) - l.modelled(x, k)) / l.sd(k)
		}
	}
	for k, q := range p.priors() {
		v := x[q.parameter]
		if q.parameter < len(p.scale) {
			v = p.value(q.parameter, v)
		}
		r[p.rows+k] = (v - q.value) / q.u
	}
}

// seen is the height of observation k as the warp has it.
func (l *launch) seen(w camera.Warp, k int) float64 {
	y, _, _ := w.At(l.h[k])
	return y
}

// modelled is the height that the model, last flown, has there.
func (l *launch) modelled(x []float64, k int) float64 {
	return l.height[k] + l.unit*x[l.first+atLevel] + l.level + l.slow(x, k)
}

// jacobian fills j: by central differences over flights for the unknowns, in closed form for the rest.
func (p *problem) jacobian(x []float64, j *mat.Dense) {
	at := append([]float64(nil), x...)
	var plus []float64
	for c := range p.in.Unknowns {
		h := 1e-5 * math.Max(math.Abs(x[c]), 1)
		for i, l := range p.launches {
			if own := p.in.Unknowns[c].Launch; own > 0 && own != i+1 {
				for k := range l.t {
					j.Set(l.row+k, c, 0)
				}
				continue
			}
			at[c] = x[c] + h
			_, errUp := p.fly(i, at)
			plus = append(plus[:0], l.height...)
			at[c] = x[c] - h
			_, errDown := p.fly(i, at)
			at[c] = x[c]
			width := 2 * h
			if errUp != nil || errDown != nil { // at the edge of what flies: from the one side
				if width = h; errUp != nil {
					width = -h
				}
				if errDown == nil {
					copy(plus, l.height)
				}
				if _, err := p.fly(i, x); err != nil || errUp != nil && errDown != nil {
					width = math.NaN()
				}
			}
			for k := range l.t {
				j.Set(l.row+k, c, -(plus[k]-l.height[k])/width/l.sd(k))
			}
		}
	}
	for i, l := range p.launches {
		if _, err := p.fly(i, x); err == nil {
			l.ownColumns(p, x, j)
		}
	}
	for k, q := range p.priors() {
		d := 1.0
		if q.parameter < len(p.scale) {
			d = p.slope(q.parameter, x[q.parameter])
		}
		j.Set(p.rows+k, q.parameter, d/q.u)
	}
}

// ownColumns fills the columns of a launch's own parameters and of its setup's.
func (l *launch) ownColumns(p *problem, x []float64, j *mat.Dense) {
	clock := l.setup.clock(x)
	for k := range l.t {
		row, u := l.row+k, l.sd(k)
		j.Set(row, l.first+atMotion, l.speed[k]*l.step*clock/u)
		j.Set(row, l.first+atLevel, -l.unit/u)
		if l.nodes > 0 && k >= l.rest-unseen {
			n, share := l.between(k)
			j.Set(row, l.first+atNodes+n, -(1-share)*l.slowU/u)
			j.Set(row, l.first+atNodes+n+1, -share*l.slowU/u)
		}
		for c, part := range l.setup.parts {
			j.Set(row, l.setup.first+c, moved(part, l.h[k])/u)
		}
		for c, part := range l.parts {
			j.Set(row, l.first+atNodes+l.nodes+c, moved(part, l.h[k])/u)
		}
		if l.setup.rateU > 0 {
			j.Set(row, l.setup.first+len(l.setup.parts), -l.speed[k]*l.after[k]/clock*l.setup.rateU/u)
		}
	}
}

// moved is by how much a part of a warp moves a height, m.
func moved(part camera.Warp, h float64) float64 {
	return h * (part.E[0] + h*(part.E[1]+h*part.E[2]))
}
