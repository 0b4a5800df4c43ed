package shoot

import (
	"math"
	"testing"

	"padside/flight"
)

// An even pull: v = a t, h = a t^2/2, then an even speed.
func TestEven(t *testing.T) {
	t.Parallel()
	m := Even{Pull: 500, Top: 35}
	if s := m.At(0.05); s.Speed != 25 || math.Abs(s.Height-0.625) > 1e-12 || s.Acceleration != 500 {
		t.Errorf("%+v", s)
	}
	if s := m.At(0.17); s.Speed != 35 || math.Abs(s.Height-(1.225+3.5)) > 1e-12 || s.Acceleration != 0 {
		t.Errorf("%+v", s)
	}
	if at, ok := first(m, 2, 10, heightOf); !ok || math.Abs(m.At(at).Height-2) > 1e-9 {
		t.Errorf("2 m after %g s, at %g m", at, m.At(at).Height)
	}
	if at, ok := first(m, 26.8224, 10, speedOf); !ok || math.Abs(at-26.8224/500) > 1e-9 {
		t.Errorf("60 mph after %g s", at)
	}
	if _, ok := first(m, 40, 10, speedOf); ok {
		t.Error("40 m/s is never reached")
	}
}

// A pull that builds up: speed and height are the integrals of the acceleration (by Simpson's rule), through to the top speed.
func TestEvenRises(t *testing.T) {
	t.Parallel()
	m := Even{Pull: 60, Top: 20, Rise: 0.05}
	const steps = 4000
	d := 0.5 / steps
	var v, h float64
	for i := range steps {
		a, b, c := m.At(float64(i)*d), m.At((float64(i)+0.5)*d), m.At(float64(i+1)*d)
		v += d / 6 * (a.Acceleration + 4*b.Acceleration + c.Acceleration)
		h += d / 6 * (a.Speed + 4*b.Speed + c.Speed)
		if math.Abs(c.Speed-v) > 0.01 || math.Abs(c.Height-h) > 1e-3 { // the step at the top speed costs half a step of it
			t.Fatalf("at %g s: %+v, integrals %g m/s and %g m", float64(i+1)*d, c, v, h)
		}
	}
	if math.Abs(v-20) > 0.01 {
		t.Errorf("%g m/s at the end", v)
	}
	if s := (Even{Pull: 60, Top: 1, Rise: 0.05}).At(1); s.Speed != 1 || s.Acceleration != 0 {
		t.Errorf("a top speed below what the rise gives: %+v", s)
	}
}

// Rows of a cubic give the cubic back between them, and the speed goes on after the last.
func TestRecorded(t *testing.T) {
	t.Parallel()
	cubic := func(x float64) flight.State {
		return flight.State{Height: 40*x*x - 30*x*x*x, Speed: 80*x - 90*x*x, Acceleration: 80 - 180*x}
	}
	var r Recorded
	for _, x := range []float64{0.01, 0.05, 0.08, 0.2, 0.3} {
		r = append(r, Row{x, cubic(x)})
	}
	for _, x := range []float64{0.02, 0.05, 0.1, 0.17, 0.29} {
		if got := r.At(x); math.Abs(got.Height-cubic(x).Height) > 1e-12 {
			t.Errorf("at %g s: %g m, want %g", x, got.Height, cubic(x).Height)
		}
	}
	last := cubic(0.3)
	if got := r.At(0.4); math.Abs(got.Height-(last.Height+0.1*last.Speed)) > 1e-12 || got.Speed != last.Speed {
		t.Errorf("after the end: %+v", got)
	}
	if got := r.At(0); got != (flight.State{}) {
		t.Errorf("at rest: %+v", got)
	}
}
