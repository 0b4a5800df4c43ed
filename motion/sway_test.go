package motion

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// The filter gives the density of the heights that the covariance of the process gives at once, as
// a normal density of all of them with a flat level: with K the covariance, o ones, p = o'K^-1 o
// and e the residual of the best level, -(ln det K + ln p + e'K^-1 e)/2 (Rasmussen & Williams,
// Gaussian Processes for Machine Learning, 2006, eq. 2.45, from memory).
func TestSwayIsItsCovariance(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	const amplitude, tau, u, n = 5e-3, 0.3, 1e-3, 25
	var rest []Observation
	at := 0.0
	for range n {
		at += 0.004 + 0.02*r.Float64()
		rest = append(rest, Observation{T: at, H: 4e-3*math.Sin(9*at) + u*r.NormFloat64(), U: u})
	}
	K := mat.NewSymDense(n, nil)
	y, o := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			x := math.Sqrt(3) * math.Abs(rest[i].T-rest[j].T) / tau
			K.SetSym(i, j, amplitude*amplitude*(1+x)*math.Exp(-x))
		}
		K.SetSym(i, i, K.At(i, i)+u*u)
		y.SetVec(i, rest[i].H)
		o.SetVec(i, 1)
	}
	var chol mat.Cholesky
	if !chol.Factorize(K) {
		t.Fatal("the covariance is not positive")
	}
	var ko, ky mat.VecDense
	if chol.SolveVecTo(&ko, o) != nil || chol.SolveVecTo(&ky, y) != nil {
		t.Fatal("the covariance does not solve")
	}
	p, b, q := mat.Dot(o, &ko), mat.Dot(o, &ky), mat.Dot(y, &ky)
	want := -0.5 * (chol.LogDet() + math.Log(p) + q - b*b/p)
	got := swayEvidence(rest, swaying{amplitude * amplitude, math.Sqrt(3) / tau}, 1)
	if math.Abs(got-want) > 1e-8*math.Abs(want) {
		t.Errorf("ln of the density of the heights %.10g, want %.10g", got, want)
	}
}

// trembling is a ball in a hand that trembles by some mm about its place, let go after 0.7 s: 9.81
// m/s2 from where and as fast as the hand was.
func trembling(seed uint64, size float64) (in Input, release, last float64) {
	const rate, u, gravity, falls = 120.0, 5e-4, 9.81, 0.6
	r := rand.New(rand.NewPCG(seed, 7))
	hand := [...]struct{ a, w, p float64 }{
		{size, 2 * math.Pi / (0.5 + 0.3*r.Float64()), 2 * math.Pi * r.Float64()},
		{0.4 * size, 2 * math.Pi / (0.2 + 0.1*r.Float64()), 2 * math.Pi * r.Float64()}}
	in = Input{Lane: 1, Seed: seed, Kind: Dropped, Questions: Questions{Speeds: []float64{3}}}
	release = 0.7 + r.Float64()/rate
	for i := 0; float64(i)/rate < release+falls; i++ {
		at := float64(i) / rate
		t, d := math.Min(at, release), math.Max(at-release, 0)
		h := gravity / 2 * d * d
		for _, k := range hand {
			h += k.a * (math.Sin(k.w*t+k.p) + k.w*math.Cos(k.w*t+k.p)*d)
		}
		in.Observations = append(in.Observations, Observation{Frame: i, T: at, H: h + u*r.NormFloat64(), U: u})
		last = at
	}
	return in, release, last
}

// The tremble of a hand, up to 20 times what a height errs by, is not the launch: first motion, the
// time to a speed and the peaks hold the truth in at least 20 of 24 drops (with a true coverage of
// 95 % fewer have a probability of 0.6 %, binomial).
func TestTrembleIsNoLaunch(t *testing.T) {
	t.Parallel()
	const drops, least = 24, 20
	held := map[string]int{}
	for seed := range uint64(drops) {
		in, release, last := trembling(seed, 3e-3+3e-4*float64(seed))
		res := mustMeasure(t, in)
		for id, truth := range map[string]float64{FirstMotion: release, PeakSpeed: 9.81 * (last - release), PeakAcceleration: 9.81, TimeToSpeed: 3 / 9.81} {
			a, _ := find(t, res, id)
			slack := 0.0
			if id == PeakSpeed || id == TimeToSpeed { // the hand's own speed, up to
				slack = 0.12 * map[string]float64{PeakSpeed: 1, TimeToSpeed: 1 / 9.81}[id]
			}
			if a.Interval != nil && a.Interval[0]-slack <= truth && truth <= a.Interval[1]+slack {
				held[id]++
			} else {
				t.Logf("seed %d: %s %v %v, truth %g", seed, id, a.Interval, a.Reason, truth)
			}
		}
	}
	for _, id := range []string{FirstMotion, TimeToSpeed, PeakSpeed, PeakAcceleration} {
		if held[id] < least {
			t.Errorf("%s holds the truth in %d of %d drops, want at least %d", id, held[id], drops, least)
		}
	}
}

// A speed that the hand has already as it lets go is not reached by falling: the time to it has no value, and so no interval without a width.
func TestSpeedAtFirstMotion(t *testing.T) {
	t.Parallel()
	in, _, _ := trembling(0, 8e-3)
	in.Questions.Speeds = []float64{0.01, 3}
	for _, a := range mustMeasure(t, in).Answers {
		if a.ID != TimeToSpeed && a.ID != MeanAccelerationToSpeed {
			continue
		}
		slow := *a.Speed < 1
		if slow != (a.Value == nil) || slow && !strings.Contains(a.Reason, "at first motion already") {
			t.Errorf("%s %g m/s: %v %v %q", a.ID, *a.Speed, a.Value, a.Interval, a.Reason)
		}
	}
}

// What comes back over a large part of the way is no sway of what is launched: the trace leapt from one part of the vehicle to another. A hand may have carried what it drops.
func TestSwayIsSmall(t *testing.T) {
	t.Parallel()
	leapt := func(by float64) []Observation {
		var obs []Observation
		for i := range 40 {
			h := 6 * float64(i*i) / (39 * 39) // m
			if i < 2 {
				h += by
			}
			obs = append(obs, Observation{Frame: i, T: float64(i) / 60, H: h, U: 2e-3})
		}
		return obs
	}
	for _, c := range []struct {
		kind  Kind
		by    float64 // m
		sways bool
	}{{Motor, 1.3, false}, {Bottle, 1.3, false}, {"", 1.3, false}, {Dropped, 1.3, true}, {Motor, 0.25, true}} {
		if got := swayOf(leapt(c.by), c.kind) != nil; got != c.sways {
			t.Errorf("%q, first places %g m off: sways %v, want %v", c.kind, c.by, got, c.sways)
		}
	}
}
