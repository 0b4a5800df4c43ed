package motion

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"padside/metrology"
)

// Traces that are no launch give answers that are whole or say why not: never a panic, a
// number that is none, or a value without its interval.
func TestOddTraces(t *testing.T) {
	t.Parallel()
	for name, height := range map[string]func(i int, r *rand.Rand) float64{
		"still":             func(int, *rand.Rand) float64 { return 0 },
		"noise alone":       func(_ int, r *rand.Rand) float64 { return 1e-3 * r.NormFloat64() },
		"far too noisy":     func(_ int, r *rand.Rand) float64 { return r.NormFloat64() },
		"downwards":         func(i int, _ *rand.Rand) float64 { return -float64(max(0, i-10)) * 0.01 },
		"one step":          func(i int, _ *rand.Rand) float64 { return float64(i / 20) },
		"uniform motion":    func(i int, _ *rand.Rand) float64 { return 0.1 * float64(i) },
		"there and back":    func(i int, _ *rand.Rand) float64 { return math.Sin(float64(max(0, i-10)) / 4) },
		"astronomic":        func(i int, _ *rand.Rand) float64 { return 1e200 * float64(max(0, i-10)) },
		"far from zero":     func(i int, _ *rand.Rand) float64 { return 1e6 + 0.1*float64(max(0, i-10)*max(0, i-10)) },
		"moves at the last": func(i int, _ *rand.Rand) float64 { return float64(max(0, i-36)) },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(5, 5))
			in := Input{Lane: 1, Questions: Questions{Speeds: []float64{1}, Gates: []float64{0.5, 1}, DropCheck: true}}
			for i := range 40 {
				in.Observations = append(in.Observations, Observation{Frame: i, T: float64(i) / 100, H: height(i, r), U: 1e-3})
			}
			res, err := Measure(context.Background(), in)
			if err != nil {
				t.Fatal(err)
			}
			for i, a := range res.Answers {
				if a.Status != metrology.Measured {
					if a.Value != nil || a.Interval != nil || res.Draws[i] != nil || a.Reason == "" {
						t.Errorf("%s: %+v, want no value and a reason", a.ID, a)
					}
					continue
				}
				for _, x := range append([]float64{*a.Value, *a.U, a.Interval[0], a.Interval[1]}, res.Draws[i]...) {
					if math.IsNaN(x) || math.IsInf(x, 0) {
						t.Fatalf("%s: %g among its numbers", a.ID, x)
					}
				}
			}
		})
	}
}
