package camera

import (
	"math"
	"testing"
)

// TestFold: where the distortion turns back, against a walk along the radius, and that a view
// without end is no endless walk.
func TestFold(t *testing.T) {
	t.Parallel()
	const step, tolerance = 1e-5, 2e-5 // of the walk; a step more for where it stops
	for _, k := range [][2]float64{{-0.2, 0}, {-0.9, 0}, {-0.3, 0.05}, {-0.266, 0.0386}, {0.3, -0.2}, {0, -0.1}, {0.26, 0}, {0.1, 0.1}, {0, 0.2}} {
		d := Distortion{Focal: 1000, K1: k[0], K2: k[1]}
		u, folds := d.fold()
		walked, found := 0.0, false
		for r := 0.0; r < 10 && !found; r += step {
			if 1+3*d.K1*r*r+5*d.K2*r*r*r*r < foldSlope {
				walked, found = r, true
			}
		}
		if folds != found || (found && math.Abs(math.Sqrt(u)-walked) > tolerance) {
			t.Errorf("fold of k1 %g, k2 %g = %g, %v, want %g, %v", k[0], k[1], math.Sqrt(u), folds, walked, found)
		}
	}
	if err := (Distortion{Focal: 2610, K1: 0.26}).check(1e300); err != nil {
		t.Errorf("a distortion that never folds is refused: %v", err)
	}
}

// TestAbsurdView: a length no vehicle has gives a refusal, not an infinite draw.
func TestAbsurdView(t *testing.T) {
	t.Parallel()
	spec := Spec{Kind: KindLength, Width: 1000, Height: 1000, Length: Measured{Value: 1e-303, Given: true},
		Ends: [2]Pixel{{500, 900}, {500, 800}}}
	line := FlightLine{Rest: Pixel{500, 850}, Uy: -1}
	if _, _, err := Calibrate(spec, line, 500, Growth{}); err == nil {
		t.Error("a length of 1e-303 m is accepted")
	}
	spec.Length.Value = 1.2
	if _, _, err := Calibrate(spec, line, 500, Growth{}); err != nil {
		t.Errorf("a length of 1.2 m is refused: %v", err)
	}
}
