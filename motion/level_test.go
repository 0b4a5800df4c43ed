package motion

import (
	"math"
	"math/rand/v2"
	"testing"
)

// stepFilm is a trace at rest for 40 frames at 240 per second, of 0.2 mm, whose level steps by so much 12 frames before first motion, at t = 1/6 s. All its
// acceleration is there at once, and said to be: 60 m/s2 could be a motor's, which builds up.
func stepFilm(step float64, seed uint64) Input {
	r := rand.New(rand.NewPCG(seed, 11))
	in := Input{Lane: 1, Seed: seed, Kind: Bottle}
	const rate, noise, first, acceleration = 240, 0.2e-3, 40. / 240, 60.
	for i := range 110 {
		t := float64(i) / rate
		m := math.Max(0, t-first)
		h := acceleration * m * m / 2
		if i >= 28 {
			h += step
		}
		in.Observations = append(in.Observations, Observation{Frame: i, T: t, H: h + noise*r.NormFloat64(), U: noise})
	}
	return in
}

// A step of the level at rest is no motion: it is named, and first motion is where the vehicle leaves. Without one nothing is said.
func TestStepAtRest(t *testing.T) {
	t.Parallel()
	for _, step := range []float64{-3e-3, 0, 3e-3} {
		res := mustMeasure(t, stepFilm(step, 4))
		said := false
		for _, w := range res.Warnings {
			said = said || w.Code == "steps-at-rest"
		}
		if said != (step != 0) {
			t.Errorf("step of %g m: warnings %v", step, res.Warnings)
		}
		a, _ := find(t, res, FirstMotion)
		if e := math.Abs(*a.Value - 40./240); e > 4**a.U || e > 5e-3 {
			t.Errorf("step of %g m: first motion %g s with u = %g, want %g", step, *a.Value, *a.U, 40./240)
		}
	}
}

// A slow start is no step.
func TestSlowStartIsNoStep(t *testing.T) {
	t.Parallel()
	for seed := range uint64(5) {
		in := stepFilm(0, seed)
		for i := range in.Observations {
			o := &in.Observations[i]
			d := math.Max(0, o.T-25./240)
			o.H += 2 * d * d
		}
		if w := levelled(&in, newSeries(in.Observations, &in), effortFor(70)); w != nil {
			t.Errorf("seed %d: %v", seed, w)
		}
	}
}
