package camera

import (
	"errors"
	"math"
	"strings"
	"testing"

	"padside/fault"
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

func TestRefusals(t *testing.T) {
	t.Parallel()
	for _, k := range []struct {
		name   string
		change func(s *Spec, c pinhole)
		want   string
	}{
		{"kind", func(s *Spec, c pinhole) { s.Kind = "stick" }, "no scale of kind"},
		{"outside", func(s *Spec, c pinhole) { s.Marks[1].At.X = 2000 }, "mark 2 at (2000,"},
		{"one place", func(s *Spec, c pinhole) {
			for i := range s.Marks {
				s.Marks[i].At = Pixel{500, 500}
			}
		}, "all lie at one place"},
		{"one mark", func(s *Spec, c pinhole) { s.Marks = s.Marks[:1] }, "1 mark(s)"},
		{"out of order", func(s *Spec, c pinhole) { s.Marks[1].At, s.Marks[2].At = s.Marks[2].At, s.Marks[1].At }, "marks 2 and 3 contradict"},
		{"twice", func(s *Spec, c pinhole) { s.Marks[1].Height = 0 }, "marks 1 and 2 both stand for"},
		{"not finite", func(s *Spec, c pinhole) { s.Marks[1].At.X = math.NaN() }, "mark 2 has no finite place"},
		{"range", func(s *Spec, c pinhole) { s.RodRange.Value = -1 }, "rod_range is not above zero"},
		{"vague range", func(s *Spec, c pinhole) { s.RodRange.U = 5 }, "the uncertainty of rod_range"},
		{"range in other units", func(s *Spec, c pinhole) { s.RodRange.Value *= 10 }, "one is 10 times the other"},
		{"marks that no lens shows", func(s *Spec, c pinhole) { looksUp(s) }, "a perspective that no lens has at a rod_range of"},
		{"marks of a camera that looks up", func(s *Spec, c pinhole) {
			looksUp(s)
			s.RodRange, s.FlightRange = Measured{}, Measured{}
		}, "perspective of a camera tilted by"},
		{"tilt too far", func(s *Spec, c pinhole) { s.Lens.Tilt = Measured{Value: 1.3, U: 0.1, Given: true} }, "does not see along the flight line"},
		{"length on the flight line", func(s *Spec, c pinhole) { s.Kind, s.Length, s.OnLine = KindLength, exactly(1), true }, "on_flight_line belongs to"},
		{"lying rod", func(s *Spec, c pinhole) {
			for i := range s.Marks {
				s.Marks[i].At = Pixel{200 + 100*float64(i), 1900}
			}
		}, "lies across the flight line"},
		{"k1 alone", func(s *Spec, c pinhole) { s.Lens.K1 = -0.1 }, "without the focal length"},
		{"plane in line", func(s *Spec, c pinhole) {
			s.Kind = KindPlane
			for i := range 4 {
				s.Plane = append(s.Plane, PlanePoint{X: float64(i), Y: 0, At: Pixel{100 + 200*float64(i), 1500}})
			}
		}, "in line"},
		{"three points", func(s *Spec, c pinhole) {
			s.Kind, s.Plane = KindPlane, make([]PlanePoint, 3)
		}, "3 point(s)"},
		{"no length", func(s *Spec, c pinhole) { s.Kind = KindLength }, "length of the reference is missing"},
		{"ends together", func(s *Spec, c pinhole) { s.Kind, s.Length = KindLength, exactly(1) }, "ends of the length lie at one place"},
	} {
		t.Run(k.name, func(t *testing.T) {
			t.Parallel()
			spec, line, reach, c, _ := level()
			k.change(&spec, c)
			_, _, err := Calibrate(spec, line, reach, Growth{})
			var fe *fault.Error
			if !errors.As(err, &fe) {
				t.Fatalf("error = %v, want a fault.Error", err)
			}
			if fe.Kind != fault.Request || fe.Hint == "" || !strings.Contains(fe.Message, k.want) {
				t.Errorf("message %q, hint %q, want %q", fe.Message, fe.Hint, k.want)
			}
		})
	}
}

// looksUp gives heights to the marks that stand at even steps in the picture, as a camera that looks up steeply sees them: t/(1 - t/5).
func looksUp(s *Spec) {
	for i := range s.Marks {
		s.Marks[i].Height = float64(i) / (1 - float64(i)/5)
	}
}
