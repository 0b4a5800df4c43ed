package motion

import "testing"

func BenchmarkMeasure(b *testing.B) {
	for _, c := range []struct {
		name   string
		rate   float64
		moving int
	}{{"190 frames", 1600, 160}, {"1500 moving frames", 8000, 1500}} {
		b.Run(c.name, func(b *testing.B) {
			in := film(bottle(b), c.rate, 1e-4, 30, c.moving, 1)
			for b.Loop() {
				mustMeasure(b, in)
			}
		})
	}
}
