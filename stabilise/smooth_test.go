package stabilise

import (
	"math"
	"testing"
)

// TestSmoothedSlopes: slopes of a sine are passed by the share that the smoothing spline's
// frequency response says (Reinsch 1967; the response is that of the continuous spline, Silverman,
// Ann. Stat. 12:898, 1984), and those of a straight line unchanged, evenly timed or not.
func TestSmoothedSlopes(t *testing.T) {
	t.Parallel()
	const n, step, halved = 400, 1.0 / 480, 2 * math.Pi * 30
	var even, uneven []float64
	for i := range n {
		even = append(even, float64(i)*step)
		uneven = append(uneven, (float64(i)+0.3*math.Sin(float64(i*i)))*step)
	}
	for _, at := range [][]float64{even, uneven} {
		s, ok := newSmoothed(at, halved)
		if !ok {
			t.Fatal("no curve")
		}
		line := make([]float64, n)
		for i, x := range at {
			line[i] = 3 - 7*x
		}
		for i, v := range s.slopes(line) {
			if math.Abs(v+7) > 1e-6 {
				t.Fatalf("slope %d of a line of -7: %g", i, v)
			}
		}
	}
	s, _ := newSmoothed(even, halved)
	for _, hz := range []float64{4, 15, 30, 45} {
		w := 2 * math.Pi * hz
		y := make([]float64, n)
		for i, x := range even {
			y[i] = math.Sin(w * x)
		}
		var passed, all float64 // away from the ends
		for i, v := range s.slopes(y) {
			if i > 80 && i < n-80 {
				c := w * math.Cos(w*even[i])
				passed, all = passed+v*c, all+c*c
			}
		}
		want := 1 / (1 + math.Pow(w/halved, 4))
		if got := passed / all; math.Abs(got-want) > 0.02 {
			t.Errorf("%g Hz: %.3f of the slope is passed, want %.3f", hz, got, want)
		}
	}
}
