package motion

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"padside/noise"
)

// sharpFilm is a trace of little noise with an error between pixels of 2 mm: amplitudes 0.03 and -0.02 px.
func sharpFilm(t testing.TB, seed uint64) Input {
	in := film(bottle(t), 1600, 1e-5, 30, 110, seed)
	const pixel = 2e-3
	for i := range in.Observations {
		o := &in.Observations[i]
		s, c := math.Sincos(2 * math.Pi * (o.H/pixel + 0.3))
		o.Phase = noise.Phase{c, s}
		o.H += pixel * (0.03*c - 0.02*s)
	}
	in.PhaseU, in.RestU = 0.02*pixel, 0.002*pixel
	return in
}

// With amplitudes, rest level and the error at rest integrated out in steps, the likelihood of first motion and coefficient is that of
// the normal distribution of all heights at once, written out with its full covariance (closed form).
func TestPhasesAreIntegratedOut(t *testing.T) {
	t.Parallel()
	in := sharpFilm(t, 3)
	in.Observations = in.Observations[20:45]
	s := newSeries(in.Observations, &in)
	p := &problem{s: s, grid: s.firstGrid()}
	q := p.params([]float64{0.2, math.Inf(-1), math.Inf(-1)}) // no walk: e^-inf
	n := len(s.t)
	direct := func(at, b float64) float64 {
		const vague = 1e4 // standard deviation of the level: no prior, up to a constant
		cov, r := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
		jerk := startJerk * s.accel / s.span
		move := func(i int) float64 { return math.Max(0, s.t[i]-at) }
		for i := range n {
			r.SetVec(i, s.y[i]-b*move(i)*move(i)/2)
			for j := range i + 1 {
				c := vague * vague
				for k, q := range s.signature(i) {
					c += q * s.signature(j)[k] / s.prior[k]
				}
				c += jerk * jerk * math.Pow(move(i)*move(j), 3) / 36
				if i == j {
					c += q.noise * q.noise / s.w[i]
				}
				cov.SetSym(i, j, c)
			}
		}
		return logNormal(t, r, cov)
	}
	stepwise := func(at, b float64) float64 {
		for c := range p.grid.n {
			if p.grid.middle(c) == at {
				k, knot := newTrack(q, nil), len(s.knots)-1
				for ; s.knots[knot] > at; knot-- {
					k.toKnot(knot)
				}
				o := k.at(at, knot, s.frameAt(at, knot))
				return o.c - 0.5*o.m*b*b + o.n*b
			}
		}
		return math.NaN()
	}
	const digits = 1e-3 // what the large covariance of the vague level leaves, and what that level tells
	at0, b0 := p.grid.middle(150), s.accel
	for _, c := range []struct {
		cell  int
		times float64
	}{{150, 0.5}, {120, 1}, {180, 1.2}, {90, 0.8}} {
		at, b := p.grid.middle(c.cell), c.times*s.accel
		got, want := stepwise(at, b)-stepwise(at0, b0), direct(at, b)-direct(at0, b0)
		if math.Abs(got-want) > digits*math.Max(1, math.Abs(want)) {
			t.Errorf("cell %d, %g times: ln of the likelihood ratio %.8g, want %.8g", c.cell, c.times, got, want)
		}
	}
}

// A wave between pixels does not move first motion, where it is stated: it does so by several times the uncertainty where
// it is not.
func TestPhaseIsNoMotion(t *testing.T) {
	t.Parallel()
	var with, without float64
	for seed := range uint64(6) {
		in := sharpFilm(t, seed)
		r := rand.New(rand.NewPCG(seed, 7))
		truth := (30 - 0.5 + 0.4*r.Float64()) / 1600
		a, _ := find(t, mustMeasure(t, in), FirstMotion)
		with += math.Pow((*a.Value-truth) / *a.U, 2) / 6
		in.PhaseU, in.RestU = 0, 0
		a, _ = find(t, mustMeasure(t, in), FirstMotion)
		without += math.Pow((*a.Value-truth) / *a.U, 2) / 6
	}
	// chi squared of 6 exceeds 6 times 3 with a probability of 0.6 %
	if with > 3 || without < 3 {
		t.Errorf("mean squared error in units of the uncertainty: %.2g stated, %.2g not; want below and above 3", with, without)
	}
}

// The phase of a frame is taken where it was matched, so that it errs as its height does. That is no
// reason to take the noise for an error between pixels: of 45 frames at rest that differ by their
// noise alone, drawn as stated, the noise is found to a factor of exp(0.25) (derived: sqrt(1/2n) of it
// is one standard deviation, 0.1).
func TestNoiseIsNoPhase(t *testing.T) {
	t.Parallel()
	for seed := range uint64(4) {
		const pixel = 2e-3
		in := film(bottle(t), 1600, 0.012*pixel, 45, 30, seed)
		for i := range in.Observations[:45] { // in flight motion blur takes it away
			o := &in.Observations[i]
			s, c := math.Sincos(2 * math.Pi * (o.H/pixel + 0.3))
			o.Phase = noise.Phase{c, s}
		}
		in.PhaseU, in.RestU = 0.02*pixel, 0.007*pixel
		g := firstGuess(newSeries(in.Observations, &in), effortFor(75), nil)
		if u := g.bump.u[cNoise]; math.Abs(u) > 0.25 {
			t.Errorf("seed %d: the noise is found to be exp(%.2f) times what it is", seed, u)
		}
	}
}

// logNormal is ln of the density of a normal distribution of mean 0 at r, but for a constant.
func logNormal(t *testing.T, r *mat.VecDense, cov *mat.SymDense) float64 {
	t.Helper()
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		t.Fatal("the covariance is singular")
	}
	var x mat.VecDense
	if err := chol.SolveVecTo(&x, r); err != nil {
		t.Fatal(err)
	}
	return -0.5*mat.Dot(r, &x) - 0.5*chol.LogDet()
}
