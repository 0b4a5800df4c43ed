package flight

import (
	"math"
	"testing"
)

// The harmonic oscillator keeps its energy and its phase over many periods.
func TestIntegrateOscillator(t *testing.T) {
	t.Parallel()
	p := problem{
		field: func(_ float64, y vector) vector { return vector{y[1], -y[0], 0} },
		to:    20 * math.Pi, start: vector{1, 0, 0}, scale: vector{1, 1, 1, 1},
	}
	sol, err := integrate(p)
	if err != nil {
		t.Fatal(err)
	}
	const tolGlobal = 2e-9 // ten periods at a local tolerance of 1e-11
	for _, s := range sol.steps {
		for _, th := range []float64{0, 0.3, 0.7, 1} {
			at := s.t + th*s.h
			y := s.at(at)
			if math.Abs(y[0]-math.Cos(at)) > tolGlobal || math.Abs(y[1]+math.Sin(at)) > tolGlobal {
				t.Fatalf("y(%g) = %v, want %v, %v", at, y, math.Cos(at), -math.Sin(at))
			}
		}
	}
}

// The order of the step is 5, that of the continuous extension inside it too (local error h^5).
func TestIntegrateOrder(t *testing.T) {
	t.Parallel()
	p := problem{field: func(t float64, y vector) vector { return vector{y[0] * math.Cos(t), 0, 0} }, scale: vector{1, 1, 1, 1}}
	miss := func(h float64) (end, mid float64) {
		y0 := vector{math.Exp(math.Sin(0.4)), 0, 0}
		s, y1, _, _ := p.advance(0.4, h, y0, p.field(0.4, y0))
		return math.Abs(y1[0] - math.Exp(math.Sin(0.4+h))), math.Abs(s.at(0.4 + h/2)[0] - math.Exp(math.Sin(0.4+h/2)))
	}
	e1, m1 := miss(0.2)
	e2, m2 := miss(0.1)
	if order := math.Log2(e1 / e2); order < 5.5 {
		t.Errorf("local order of the step = %.2f, want 6", order)
	}
	if order := math.Log2(m1 / m2); order < 4.5 {
		t.Errorf("local order of the continuous extension = %.2f, want 5", order)
	}
}

func TestIntegrateEvent(t *testing.T) {
	t.Parallel()
	sol, err := integrate(problem{
		field: func(_ float64, y vector) vector { return vector{y[1], -9.81, 0} },
		to:    100, start: vector{0, 30, 0}, scale: vector{1, 1, 1, 1},
		events: []func(float64, vector) float64{
			func(_ float64, y vector) float64 { return 1e9 },
			func(_ float64, y vector) float64 { return y[1] },
		},
	})
	if err != nil || sol.event != 1 {
		t.Fatalf("event = %d, %v, want 1", sol.event, err)
	}
	wantRel(t, "time of the event", sol.t, 30/9.81, 1e-13)
	wantRel(t, "state at the event", sol.y[0], 30*30/(2*9.81), 1e-13)
}
