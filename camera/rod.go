package camera

import (
	"math"

	"padside/fault"
	"padside/fit"
)

// rod is the scale of a straight graduated rod: along its own line in the picture
//
//	h = (a t + b) / (c t + 1)
//
// with t and h centred on the marks and divided by half their spread. The three are fitted by
// least squares over the marks' places (px) and over what else is known of c: the camera's tilt,
// and how wide one object looks at several marks. The problem is kept linearised at its
// solution, so that each draw of errors, with its own factor k on the marks' uncertainty, has
// the estimate that belongs to it:
//
//	(N/k^2 + e e'/u^2) (theta - theta0) = g/k^2 + J' eps/k + e (c_known - c0)/u^2
//
// with N = J'J, g = J'r, J and r the marks' slopes and residuals in stated uncertainties, e the
// axis of c: a Gauss-Markov estimate from perturbed observations, which is a draw from its
// posterior.
type rod struct {
	axis      FlightLine // the rod: Rest at the middle of its marks, direction of rising height
	ts, hs    float64    // half spread of the marks, px and m
	at        [3]float64 // a, b, c where the problem is linearised
	normal    matrix3    // N
	gradient  [3]float64 // g
	rows      [][3]float64
	known     perspective
	noise     noise
	checked   float64    // how many residuals the tilt and widths are worth, 0 to 1
	p, kappa  float64    // t at rest, and its change per px of the flight line over ts
	cos       float64    // of the angle between rod and flight line, in space
	upright   [2]float64 // the direction of uprights in the picture, where they do not converge
	list      []MarkResidual
	chi2      float64 // of the marks, one parameter c of theirs being free
	low, high float64 // m, extent of the marks along the flight line, from rest
}

// lies reports whether the rod lies rather than stands: then its marks say nothing of the camera's tilt.
func (r *rod) lies() bool { return math.Abs(r.axis.Uy) < 0.5 }

func (r *rod) coordinates() int          { return len(r.rows) }
func (r *rod) factor() *noise            { return &r.noise }
func (r *rod) residuals() []MarkResidual { return append([]MarkResidual(nil), r.list...) }
func (r *rod) rest() *draws {
	return &draws{marks: make([]float64, len(r.rows)), spread: r.noise.best}
}

// along implements reference. With t = p + q s, q = kappa/ts, the difference of two heights on
// the rod is hs q (a - c b)/(1 + c p)^2 s / (1 + c q/(1 + c p) s), and the way along the
// flight line is longer by 1/cos.
func (r *rod) along(d *draws) projective {
	th := r.theta(d)
	a, b, c := th[0], th[1], th[2]
	den := max(1+c*r.p, nearest)
	q := r.kappa / r.ts
	return projective{a: r.hs * q / r.cos * (a - c*b) / (den * den), c: c * q / den}
}

// theta solves for (a, b, c) under one draw of errors.
func (r *rod) theta(d *draws) [3]float64 {
	weight := 1 / (d.spread * d.spread)
	m, rhs := r.normal, r.gradient
	for i := range m {
		m[i] *= weight
	}
	for j := range rhs {
		rhs[j] *= weight
	}
	for i, row := range r.rows {
		for j := range rhs {
			rhs[j] += row[j] * d.marks[i] / d.spread
		}
	}
	if r.known.u > 0 {
		w := 1 / (r.known.u * r.known.u)
		m[8] += w
		rhs[2] += w * (r.known.drawn(d) - r.at[2])
	}
	inverse, ok := m.inverted()
	if !ok {
		return r.at
	}
	x, y, z := inverse.times(rhs[0], rhs[1], rhs[2])
	return [3]float64{r.at[0] + x, r.at[1] + y, r.at[2] + z}
}

// fitRod fits the rod. Marks are checked already, except for their order along the rod.
func fitRod(s Spec, v view, line FlightLine) (*rod, []fault.Warning, error) {
	r := &rod{}
	marks, err := r.align(s, v)
	if err != nil {
		return nil, nil, err
	}
	r.centre(marks)
	r.known = r.foretell(marks, v)
	if err := r.solve(marks); err != nil {
		return nil, nil, err
	}
	notes := r.exactly(marks)
	if len(notes) > 0 {
		if err := r.solve(marks); err != nil {
			return nil, nil, err
		}
	}
	r.weigh(marks)
	notes = append(notes, r.judge(marks, v)...)
	if err := r.transfer(v, line); err != nil {
		return nil, nil, err
	}
	r.extent(marks, line)
	return r, notes, nil
}

// centre moves the axis to the middle of the marks.
func (r *rod) centre(marks []sighting) {
	first, last := marks[0], marks[len(marks)-1]
	r.ts, r.hs = (last.along-first.along)/2, (last.h-first.h)/2
	tm := (last.along + first.along) / 2
	r.axis.Rest.X += tm * r.axis.Ux
	r.axis.Rest.Y += tm * r.axis.Uy
	for i := range marks {
		marks[i].along -= tm
	}
}

// leastMarkU is the standard uncertainty (px) by which a mark stated as exact is weighed.
const leastMarkU = 1e-3

// sigma is a mark's standard uncertainty along the rod in half spreads.
func (r *rod) sigma(m sighting) float64 {
	return math.Hypot(max(m.u, leastMarkU)/r.ts, m.uh/r.hs)
}

// loose stands in for the uncertainty of c where nothing but the marks tells it.
const loose = 1e3

// solve fits (a, b, c) to the marks and to what else is known of c. Where the camera's tilt is
// not stated, its being level is forgotten as soon as the marks tell more.
func (r *rod) solve(marks []sighting) error {
	if len(marks) >= 3 && r.known.assumed {
		known := r.known
		r.known = perspective{}
		if r.fit(marks) == nil {
			if _, u := r.perspective(); u < known.u {
				return nil
			}
		}
		r.known = known
	}
	return r.fit(marks)
}

func (r *rod) fit(marks []sighting) error {
	n := len(marks)
	hm := (marks[0].h + marks[n-1].h) / 2
	u := r.known.u
	if u == 0 {
		u = loose
	}
	residuals := func(th, out []float64) {
		for i, m := range marks {
			out[i] = (m.along/r.ts - place(th, (m.h-hm)/r.hs)) / r.sigma(m)
		}
		out[n] = (r.known.c - th[2]) / u
	}
	start := []float64{1, 0, max(-0.5, min(0.5, r.known.c))}
	sol, err := fit.Minimise(fit.Problem{Observations: n + 1, Residuals: residuals, Start: start, Scale: []float64{1, 1, 0.1}},
		fit.NonlinearOptions{KnownSigma: true})
	if err != nil {
		return fault.Requestf("check the heights and places of the marks", "no scale fits the marks of the rod: %v", err)
	}
	copy(r.at[:], sol.Parameters)
	r.linearise(marks, sol.Residuals)
	return nil
}

// place is t(h) = (h - b)/(a - c h).
func place(th []float64, h float64) float64 { return (h - th[1]) / (th[0] - th[2]*h) }

// linearise takes the marks' slopes and residuals at the solution.
func (r *rod) linearise(marks []sighting, res []float64) {
	n := len(marks)
	hm := (marks[0].h + marks[n-1].h) / 2
	r.normal, r.gradient, r.chi2 = matrix3{}, [3]float64{}, 0
	r.rows, r.list = make([][3]float64, n), nil
	for i, m := range marks {
		h := (m.h - hm) / r.hs
		t := place(r.at[:], h)
		den := r.at[0] - r.at[2]*h
		sigma := r.sigma(m)
		row := [3]float64{-t / den / sigma, -1 / den / sigma, t * h / den / sigma}
		for j := range row {
			r.gradient[j] += row[j] * res[i]
			for k := range row {
				r.normal[3*j+k] += row[j] * row[k]
			}
		}
		if m.u > 0 || m.uh > 0 {
			r.rows[i] = row
		}
		r.chi2 += res[i] * res[i]
		r.list = append(r.list, MarkResidual{Index: m.index, Along: m.along - t*r.ts, Across: m.across})
	}
	if c, u := r.marksAlone(); u < loose {
		r.chi2 = max(0, r.chi2-math.Pow((c-r.at[2])/u, 2))
	}
}

// marksAlone returns the c that the marks by themselves show and its stated standard
// uncertainty (at k = 1): N with a and b eliminated. For two marks the uncertainty is infinite.
func (r *rod) marksAlone() (c, u float64) {
	n, g := &r.normal, &r.gradient
	det := n[0]*n[4] - n[1]*n[1]
	if len(r.rows) < 3 || !(det > 0) {
		return r.at[2], math.Inf(1)
	}
	x, y := (n[4]*n[2]-n[1]*n[5])/det, (n[0]*n[5]-n[1]*n[2])/det
	information := n[8] - n[2]*x - n[5]*y
	if !(information > 1/(loose*loose)) {
		return r.at[2], math.Inf(1)
	}
	return r.at[2] + (g[2]-g[0]*x-g[1]*y)/information, 1 / math.Sqrt(information)
}

// perspective returns c and its standard uncertainty from all that is known, at k = 1.
func (r *rod) perspective() (c, u float64) {
	c, u = r.marksAlone()
	if r.known.u == 0 {
		return c, u
	}
	w, known := 1/(u*u), 1/(r.known.u*r.known.u)
	return (w*c + known*r.known.c) / (w + known), 1 / math.Sqrt(w+known)
}

// weigh finds what the residuals say of the marks' uncertainty: of n marks, n - 3 degrees of
// freedom; and where more than a level camera tells c besides, how far it lies from what the marks show.
func (r *rod) weigh(marks []sighting) {
	var other evidence
	c, u := r.marksAlone()
	if r.known.u > 0 && !r.known.assumed && !math.IsInf(u, 1) {
		known := r.known.u * r.known.u
		other.likelihood = func(k float64) float64 {
			v := k*k*u*u + known
			return -(c-r.known.c)*(c-r.known.c)/(2*v) - math.Log(v)/2
		}
		other.dof = math.Pow(u*u/(u*u+known), 2)
	}
	r.checked = other.dof
	r.noise = newNoise(max(0, len(marks)-3), r.chi2, other)
}
