package motion

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"padside/noise"
)

// driftFilm is a sharp trace whose heights in flight have a correlated error too, stated with
// another size in every frame.
func driftFilm(t testing.TB, seed uint64) Input {
	in := sharpFilm(t, seed)
	r := rand.New(rand.NewPCG(seed, 11))
	for i := range in.Observations {
		if i > 31 {
			in.Observations[i].DoubtU = 3e-5 * (0.5 + r.Float64())
		}
	}
	return in
}

// matern is the covariance of the process of a hypothesis, at s correlation lengths: Rasmussen &
// Williams, Gaussian Processes for Machine Learning, 2006, eqs 4.17 and 4.18 (from memory).
func matern(h noise.Hypothesis, s float64) float64 {
	if h.Rough {
		return h.Size * h.Size * math.Exp(-s)
	}
	return h.Size * h.Size * (1 + math.Sqrt(3)*s) * math.Exp(-math.Sqrt(3)*s)
}

// With the correlated error integrated out step by step, as value and slope, the likelihood of
// first motion and coefficient under every hypothesis is that of the normal distribution of all
// heights at once, written out with its full covariance; so are the ratios of hypotheses.
func TestCorrelatedErrorIsIntegratedOut(t *testing.T) {
	t.Parallel()
	in := driftFilm(t, 3)
	in.Observations = in.Observations[20:50]
	s := newSeries(in.Observations, &in)
	p := &problem{s: s, grid: s.firstGrid()}
	n := len(s.t)
	knot := make([]int, n) // in whose block each frame lies
	for k, b := range s.blocks {
		for i := b.from; i < b.to; i++ {
			knot[i] = min(k, len(s.knots)-2) // the last frame shares the value of the knot before
		}
	}
	u := []float64{0.2, math.Inf(-1), math.Inf(-1)} // no walk: e^-inf
	direct := func(q *params, at, b float64) float64 {
		const vague = 1e4 // standard deviation of the level: no prior, up to a constant
		cov, r := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
		jerk := startJerk * s.accel / s.span
		move := func(i int) float64 { return math.Max(0, s.t[i]-at) }
		h := s.drift.list[q.hypothesis]
		along := s.drift.knots.Along(h)
		for i := range n {
			r.SetVec(i, s.y[i]-b*move(i)*move(i)/2)
			for j := range i + 1 {
				c := vague * vague
				for k := range driftShare {
					c += s.signature(i)[k] * s.signature(j)[k] / s.prior[k]
				}
				if move(j) > 0 {
					c += s.signature(i)[driftShare] * s.signature(j)[driftShare] * matern(h, along[knot[i]]-along[knot[j]])
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
	stepwise := func(q *params, at, b float64) float64 {
		k, knot := newTrack(q, nil), len(s.knots)-1
		for ; s.knots[knot] > at; knot-- {
			k.toKnot(knot)
		}
		o := k.at(at, knot, s.frameAt(at, knot))
		return o.c - 0.5*o.m*b*b + o.n*b
	}
	const digits = 2e-3 // what the large covariance of the vague level leaves, and what that level tells
	at0, b0, q0 := p.grid.middle(150), s.accel, p.under(u, 0)
	for i := range s.drift.list {
		q := p.under(u, i)
		at, b := p.grid.middle(100+i%4*30), (0.6+0.2*float64(i%5))*s.accel
		got, want := stepwise(q, at, b)-stepwise(q0, at0, b0), direct(q, at, b)-direct(q0, at0, b0)
		if math.Abs(got-want) > digits*math.Max(1, math.Abs(want)) {
			t.Errorf("%+v, first motion at %.3f: ln of the likelihood ratio %.8g, want %.8g", s.drift.list[i], at, got, want)
		}
	}
}

// Times and gates of heights whose errors are correlated over a tenth of the flight, three times as
// large as the noise, are right within their uncertainty where that is stated; taken for white
// noise they are off by several times it.
func TestCorrelatedErrorIsNoMotion(t *testing.T) {
	t.Parallel()
	const flights, rest, moving, rate, own = 8, 30, 110, 1600.0, 1e-4
	var with, without float64
	f := bottle(t)
	for seed := range uint64(flights) {
		in := film(f, rate, own, rest, moving, seed)
		in.Kind = Bottle
		r := rand.New(rand.NewPCG(seed, 7))
		first := (rest - 0.5 + 0.4*r.Float64()) / rate
		stated := in
		stated.Observations = nil
		var along []float64
		for i := range moving {
			along = append(along, 10*float64(i)/moving)
		}
		d := noise.Hypothesis{Size: 3 * own, Rough: seed%2 == 0}.Draw(along, r)
		for i, o := range in.Observations {
			if i >= rest {
				in.Observations[i].H += d[i-rest]
				o.H, o.DoubtU = in.Observations[i].H, 3*own
			}
			stated.Observations = append(stated.Observations, o)
		}
		truth := map[string]float64{FirstMotion: first}
		speed, _ := f.SpeedReached(10)
		truth[TimeToSpeed] = speed - f.FirstMotion
		gate, _ := f.HeightReached(0.2)
		truth[GateCrossing] = gate - f.FirstMotion + first
		told, white := mustMeasure(t, stated), mustMeasure(t, in)
		for id, want := range truth {
			a, _ := find(t, told, id)
			with += math.Pow((*a.Value-want) / *a.U, 2) / flights / 3
			a, _ = find(t, white, id)
			without += math.Pow((*a.Value-want) / *a.U, 2) / flights / 3
		}
	}
	// the three answers of a flight are correlated: chi squared of 8 exceeds 8 times 2.8 with a
	// probability of 0.4 %
	if with > 2.8 || without < 2.8 {
		t.Errorf("mean squared error in units of the uncertainty: %.2g stated, %.2g not; want below and above 2.8", with, without)
	}
	t.Logf("mean squared error in units of the uncertainty: %.2g stated, %.2g not", with, without)
}
