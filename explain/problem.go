package explain

import "math"

// problem is the least-squares problem. Its parameters are the unknowns (the logarithm of those that can only be positive: discharge and
// pressure, say, then lie on a straight line where their product is what the footage tells) over their scales, then those of each launch, then those of
// each setup. Its rows are the observations of each launch, m or whitened, then one pseudo-observation for all that is known beforehand.
//
// The errors of scale are put on the model's heights, not on those observed: a scale fitted to the observations would shrink their noise
// along with them, and be drawn to the small side.
type problem struct {
	in       *Input
	launches []*launch
	setups   []*shared
	scale    []float64 // of each unknown, or of its logarithm
	log      []bool    // whether the logarithm is the parameter
	n        int       // parameters
	rows     int       // observations
}

// layout numbers parameters and rows.
func (p *problem) layout() {
	p.n, p.rows = len(p.in.Unknowns), 0
	for _, l := range p.launches {
		l.first, l.row = p.n, p.rows
		p.n += l.count()
		p.rows += len(l.t)
		l.scratch()
	}
	for _, s := range p.setups {
		s.first = p.n
		p.n += s.count()
	}
}

// clone returns a problem with scratch of its own.
func (p *problem) clone() *problem {
	q := *p
	q.launches = nil
	for _, l := range p.launches {
		c := *l
		c.scratch()
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
		for k := l.first + atRest; k < l.first+l.count(); k++ {
			source := traceNoise
			if k >= l.first+l.atParts() {
				source = scaleError
			}
			out = append(out, prior{k, 0, 1, source})
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

// vanishing is the share of the least possible value below which a positive unknown is not followed: its logarithm runs away where the model
// cannot come near, and takes its pseudo-observation, which is one of the value, with it.
const vanishing = 0.01

// vanishes reports whether a positive unknown has run away to nothing.
func (p *problem) vanishes(x []float64) bool {
	for j := range p.in.Unknowns {
		if p.log[j] && p.value(j, x[j]) < vanishing*p.in.Unknowns[j].Least {
			return true
		}
	}
	return false
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

// residuals fills r: observed less modelled, m, then the pseudo-observations over their uncertainty. All are NaN where the model does not
// fly.
func (p *problem) residuals(x, r []float64) {
	for i, l := range p.launches {
		if _, err := p.fly(i, x); err != nil || p.vanishes(x) {
			for k := range r {
				r[k] = math.NaN()
			}
			return
		}
		for k := range l.t {
			r[l.row+k] = l.h[k] - l.modelled(x, k)
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
