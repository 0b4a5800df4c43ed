package explain

import (
	"math"
	"slices"

	"padside/fit"
	"padside/metrology"
	"padside/noise"
)

// fewestCoasting is how many frames must show the coast.
const fewestCoasting = 10

// CoastDrag finds the drag area Cd S of a launch from its frames after the end of thrust alone, without the rest of the model: with
// mass m, gravity g and air of density rho the upward coast is, in closed form,
//
//	v = w tan(b - g t/w),  h = h1 + w^2/g ln(cos(b - g t/w)/cos b),  w^2 = m g/k,  k = rho Cd S/2,  v1 = w tan b
//
// (any textbook of mechanics), fitted in h1, v1 and k. Errors of scale and rate that all frames share are propagated by fitting anew with each
// moved by its standard deviation. ok is false where too few frames show the coast, or the answer would be known to worse than half of
// itself.
func (r *Result) CoastDrag(which int, mass, gravity, density float64) (area metrology.Estimate, ok bool) {
	l := r.problem.launches[which]
	f := r.Launches[which]
	from := f.FirstMotion + f.Flight.EndOfThrust - f.Flight.FirstMotion + 2*l.step
	var c coasting
	var alone, size, along []float64
	all := l.along()
	for k, q := range f.Residuals {
		if q.T >= from && !(q.T-f.FirstMotion >= f.Flight.End-f.Flight.FirstMotion) {
			c.t, c.h = append(c.t, q.T), append(c.h, q.Height)
			alone, size, along = append(alone, q.U), append(size, l.correlatedU(k)), append(along, all[k])
		}
	}
	if len(c.t) < fewestCoasting {
		return area, false
	}
	c.white = noise.NewWhitener(l.correlated, alone, size, along)
	c.mass, c.gravity, c.density = mass, gravity, density
	best, own, ok := c.solve()
	if !ok {
		return area, false
	}
	square := own * own
	parts := slices.Concat(l.setup.parts, l.parts)
	for k := range len(parts) + 1 {
		other := c
		other.h, other.t = slices.Clone(c.h), slices.Clone(c.t)
		for i := range other.h {
			if k < len(parts) {
				other.h[i] += moved(parts[k], c.h[i])
			} else {
				other.t[i] *= 1 + l.setup.rateU
			}
		}
		if v, _, ok := other.solve(); ok {
			square += (v - best) * (v - best)
		}
	}
	area = metrology.Estimate{Value: best, U: math.Sqrt(square), Dof: math.Inf(1)}
	return area, area.U < 0.5*math.Abs(best)
}

// coasting is the frames of a coast and what is known of it.
type coasting struct {
	t, h                   []float64
	white                  *noise.Whitener // of their errors, correlated as the whole fit found them
	mass, gravity, density float64
}

// solve returns drag area and its standard uncertainty from the frames' own errors.
func (c *coasting) solve() (area, u float64, ok bool) {
	n := len(c.t)
	start := []float64{c.h[0], (c.h[n-1] - c.h[0]) / (c.t[n-1] - c.t[0]) * 1.1, 0.002}
	sol, err := fit.Minimise(fit.Problem{Observations: n, Start: start, Scale: []float64{0.1, 1, 1e-3}, Residuals: func(x, r []float64) {
		for i := range r {
			r[i] = c.h[i] - c.height(x, c.t[i]-c.t[0])
		}
		c.white.Apply(r)
	}}, fit.NonlinearOptions{KnownSigma: true, Tolerance: 1e-10, MaxIterations: 100})
	if err != nil || !(sol.Parameters[2] > 0) {
		return 0, 0, false
	}
	return sol.Parameters[2], sol.SD(2), true
}

// height of the coast x = (h1, v1, Cd S) after t. Below a drag that would matter it goes over into the parabola.
func (c *coasting) height(x []float64, t float64) float64 {
	k, g := c.density*x[2]/2, c.gravity
	if k < 1e-9*c.mass {
		return x[0] + x[1]*t - g*t*t/2 - k/c.mass*x[1]*x[1]*t*t/2
	}
	w := math.Sqrt(c.mass * g / k)
	b := math.Atan2(x[1], w)
	return x[0] + w*w/g*math.Log(math.Cos(b-g*t/w)/math.Cos(b))
}
