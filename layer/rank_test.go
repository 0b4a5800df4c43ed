package layer

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// The k-th smallest is the one that sorting puts there, whatever the sign and the spread of values.
func TestRank(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	draw := map[string]func() float32{
		"squares":   func() float32 { x := float32(r.NormFloat64()); return x * x },
		"levels":    func() float32 { return 100 + 20*r.Float32() },
		"both ways": func() float32 { return float32(r.NormFloat64()) },
		"few":       func() float32 { return float32(r.IntN(3) - 1) },
		"alike":     func() float32 { return 7 },
	}
	for name, one := range draw {
		for _, n := range []int{1, 2, fewRanked, fewRanked + 1, 300, 5000} {
			v := make([]float32, n)
			for i := range v {
				v[i] = one()
			}
			sorted := slices.Sorted(slices.Values(v))
			for _, k := range []int{0, n / 2, n * 3 / 4, n - 1} {
				if got := rank(slices.Clone(v), k); got != sorted[k] {
					t.Errorf("%s: number %d of %d is %g, want %g", name, k, n, got, sorted[k])
				}
			}
		}
	}
}
