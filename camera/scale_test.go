package camera

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"padside/fault"
)

// level is a plain setup: level camera at 8 m, rod of five marks in the plane of flight.
func level() (Spec, FlightLine, float64, pinhole, flight) {
	c := pinhole{1800, 0}
	f := flight{y: -1, z: 8}
	s := rodSpec(c, 0.3, -1, 8, 0, 0.5, 1, 1.5, 2)
	line, reach := f.line(c, 2.4)
	return s, line, reach, c, f
}

func mustCalibrate(t *testing.T, s Spec, line FlightLine, reach float64) (*Scale, []fault.Warning) {
	t.Helper()
	scale, w, err := Calibrate(s, line, reach, Growth{})
	if err != nil {
		t.Fatal(err)
	}
	return scale, w
}

func TestWarpNodes(t *testing.T) {
	t.Parallel()
	const (
		atNodes = 1e-12 // rounding
		between = 1e-6  // of the height, for draws that move it by less than 5 %
	)
	n := projective{a: 0.004, c: 1e-4}
	p := projective{a: 0.0041, c: 1.2e-4}
	const top = 2.4
	w := p.relativeTo(n, top)
	for i := range 31 {
		h := top * float64(i) / 30
		y, _, _ := w.At(h)
		limit := between
		if i%10 == 0 {
			limit = atNodes
		}
		if want := p.at(h / (n.a - n.c*h)); math.Abs(y-want) > limit*top {
			t.Errorf("At(%g) = %.12g, want %.12g", h, y, want)
		}
	}
	if (n.relativeTo(n, top) != Warp{}) {
		t.Errorf("the nominal map's warp is not the identity")
	}
}

// TestHold: holding a source takes away its own part and leaves every other number as drawn.
func TestHold(t *testing.T) {
	t.Parallel()
	spec, line, reach, _, _ := level()
	spec.RodRange, spec.FlightRange, spec.Lean = Measured{}, Measured{}, Measured{}
	s, _ := mustCalibrate(t, spec, line, reach)
	draw := func(hold string) Warp { return s.Warp(rand.New(rand.NewPCG(1, 2)), rand.New(rand.NewPCG(3, 4)), hold) }
	if draw("") != draw("") {
		t.Errorf("Warp depends on more than its source of numbers")
	}
	if draw("") != draw("no such source") {
		t.Errorf("an unknown source changes the draw")
	}
	all, none := s.rest(), s.rest()
	s.draw(rand.New(rand.NewPCG(1, 2)), rand.New(rand.NewPCG(3, 4)), "", all)
	for _, hold := range s.Sources() {
		if draw(hold) == draw("") {
			t.Errorf("holding %q changes nothing", hold)
		}
		s.draw(rand.New(rand.NewPCG(1, 2)), rand.New(rand.NewPCG(3, 4)), hold, none)
		if hold != sourceMarks && none.marks[1] != all.marks[1] || hold != sourceLean && none.lean != all.lean ||
			hold != sourceDistance && none.parallax != all.parallax || hold != sourceTilt && none.tilt != all.tilt {
			t.Errorf("holding %q changes the numbers of others", hold)
		}
	}
	want := []string{"scale marks", "camera distance", "lean of the flight"}
	if got := s.Sources(); strings.Join(got, ",") != strings.Join(want, ",") {
		t.Errorf("Sources() = %q, want %q", got, want)
	}
}

// TestPlanarError: a target dz beyond the reference's plane at range Z errs by Z/(Z+dz),
// exactly, and giving both ranges takes the error out (inspired by the planar index of
// impact-test filming, SAE J211-2, from memory).
func TestPlanarError(t *testing.T) {
	t.Parallel()
	const exact = 1e-6
	c, f := pinhole{1800, 0}, flight{y: -1, z: 8.4}
	spec := rodSpec(c, 0.3, -1, 8, 0, 0.5, 1, 1.5, 2)
	line, reach := f.line(c, 2.4)
	for _, k := range []struct{ rod, flight, want float64 }{{8, 8, 8 / 8.4}, {8, 8.4, 1}} {
		spec.RodRange, spec.FlightRange = exactly(k.rod), exactly(k.flight)
		s, _ := mustCalibrate(t, spec, line, reach)
		if got := s.HeightAt(f.at(c, 2)) / 2; math.Abs(got-k.want) > exact {
			t.Errorf("ranges %g and %g: height is %.8f of the true one, want %.8f", k.rod, k.flight, got, k.want)
		}
	}
}

func TestDistortion(t *testing.T) {
	t.Parallel()
	// k1 and k2 as published for the chessboard pictures in ../shared/data/chessboards; without
	// the higher terms of that fit they fold the picture's corners, so points stay inside
	d := Distortion{Centre: Pixel{342.28, 235.57}, Focal: 535.92, K1: -0.2664, K2: -0.0386}
	if d.check(335) != nil || d.check(440) == nil {
		t.Errorf("check does not find the fold between 335 and 440 px")
	}
	const inverse = 1e-9 // px
	for _, p := range []Pixel{{100, 60}, {320, 240}, {600, 400}, {590, 50}, {342.28, 235.57}} {
		q := d.Apply(d.Undistort(p))
		if math.Hypot(q.X-p.X, q.Y-p.Y) > inverse {
			t.Errorf("Apply(Undistort(%v)) = %v", p, q)
		}
	}
	// distortion index of k1 alone, to first order: k1 r^3 f over the diagonal, at the corner
	weak := Distortion{Centre: Pixel{500, 500}, Focal: 1000, K1: 1e-5}
	r := math.Sqrt2 / 2
	if got, want := weak.Index(1001, 1001), 1e-5*r*r*r*1000/(1000*math.Sqrt2); math.Abs(got/want-1) > 1e-4 {
		t.Errorf("Index = %g, want %g", got, want)
	}
	if err := (Distortion{Focal: 500, K1: -0.9}).check(600); err == nil {
		t.Errorf("a distortion that folds the picture is accepted")
	}
}

// TestDistortedRod: the lens's bending taken out, heights come out as without it.
func TestDistortedRod(t *testing.T) {
	t.Parallel()
	spec, line, _, c, f := level()
	spec.Lens = Lens{FocalLength: exactly(9e-3), PixelPitch: exactly(5e-6), K1: -0.15, K2: 0.02}
	d := Distortion{Centre: Pixel{(wide - 1) / 2.0, (high - 1) / 2.0}, Focal: 1800, K1: -0.15, K2: 0.02}
	for i, m := range spec.Marks {
		spec.Marks[i].At = d.Apply(m.At)
	}
	end := d.Apply(f.at(c, 2.4))
	line.Rest = d.Apply(line.Rest)
	reach := apart(line.Rest, end)
	line.Ux, line.Uy = (end.X-line.Rest.X)/reach, (end.Y-line.Rest.Y)/reach
	s, _ := mustCalibrate(t, spec, line, reach)
	for _, h := range []float64{0.3, 1, 2.4} {
		if got := s.HeightAt(d.Apply(f.at(c, h))); math.Abs(got/h-1) > 1e-6 {
			t.Errorf("HeightAt(%g m) = %.9g", h, got)
		}
	}
}

// TestPlaneExact: the homography of error-free points gives exact heights.
func TestPlaneExact(t *testing.T) {
	t.Parallel()
	c, f := pinhole{1500, 11 * degree}, flight{x: 0.2, y: -0.5, z: 6, aside: 4 * degree}
	s := Spec{Kind: KindPlane, Width: wide, Height: high, Lean: exactly(0), RodRange: exactly(6), FlightRange: exactly(6)}
	for _, q := range [][2]float64{{-1, 0}, {1, 0.1}, {-0.8, 2}, {1, 1.7}, {0.1, 1}} {
		s.Plane = append(s.Plane, PlanePoint{X: q[0], Y: q[1], At: c.see(q[0], q[1]-0.5, 6)})
	}
	for _, n := range []int{4, 5} {
		spec := s
		spec.Plane = s.Plane[:n]
		line, reach := f.line(c, 2)
		scale, _ := mustCalibrate(t, spec, line, reach)
		for _, h := range []float64{0.5, 1, 2} {
			if got := scale.HeightAt(f.at(c, h)); math.Abs(got/h-1) > 1e-8 {
				t.Errorf("%d points: HeightAt(%g m) = %.10g", n, h, got)
			}
		}
	}
}

// TestDrop: a fall, whose flight line runs down, has positive heights growing downwards.
func TestDrop(t *testing.T) {
	t.Parallel()
	const exact = 1e-9 // relative: rounding, and that nothing but the marks tells the perspective
	c := pinhole{1800, 5 * degree}
	spec := rodSpec(c, 0, -1, 8, 0, 0.5, 1, 1.5, 2)
	a, b := c.see(0, 1, 8), c.see(0, -1, 8)
	line := FlightLine{Rest: a, Uy: 1}
	s, _ := mustCalibrate(t, spec, line, b.Y-a.Y)
	for _, h := range []float64{0.5, 1, 2} {
		if got := s.HeightAt(c.see(0, 1-h, 8)); math.Abs(got/h-1) > exact {
			t.Errorf("HeightAt(fallen %g m) = %.9g", h, got)
		}
	}
}

func codes(list []fault.Warning) string {
	var out []string
	for _, w := range list {
		out = append(out, w.Code)
	}
	return strings.Join(out, " ")
}

func TestWarnings(t *testing.T) {
	t.Parallel()
	for _, k := range []struct {
		name   string
		change func(s *Spec, c pinhole)
		want   string
	}{
		{"all given", func(s *Spec, c pinhole) {}, "scale-extrapolated"},
		{"no ranges", func(s *Spec, c pinhole) { s.RodRange = Measured{} }, "scale-range-assumed scale-extrapolated"},
		{"range without uncertainty", func(s *Spec, c pinhole) { s.RodRange.Exact = false }, "scale-uncertainty-assumed scale-extrapolated"},
		{"two marks", func(s *Spec, c pinhole) { s.Marks = s.Marks[:2] }, "scale-two-marks scale-extrapolated"},
		{"three marks", func(s *Spec, c pinhole) { s.Marks = s.Marks[2:] }, "scale-marks-unchecked scale-extrapolated"},
		{"three marks, tilt known", func(s *Spec, c pinhole) {
			s.Marks = s.Marks[2:]
			s.Lens = Lens{FocalLength: exactly(9e-3), PixelPitch: exactly(5e-6), Tilt: exactly(0)}
		}, "scale-extrapolated"},
		{"three marks close by", func(s *Spec, c pinhole) {
			*s = rodSpec(c, 0, -1, 8, 0, 0.05, 0.1)
		}, "scale-marks-unchecked scale-extrapolated scale-weak"},
		{"a mark 5 px off", func(s *Spec, c pinhole) { s.Marks[2].At.Y += 5 }, "scale-marks-scatter scale-extrapolated"},
		{"exact marks that contradict", func(s *Spec, c pinhole) { s.MarkU = new(float64); s.Marks[2].At.Y += 5 }, "scale-marks-scatter scale-extrapolated"},
		{"another tilt than the marks'", func(s *Spec, c pinhole) {
			s.Lens = Lens{FocalLength: exactly(9e-3), PixelPitch: exactly(5e-6), Tilt: Measured{Value: 0.2, U: 0.02, Given: true}}
		}, "scale-tilt-contradicted scale-extrapolated"},
		{"lean without uncertainty", func(s *Spec, c pinhole) { s.Lean = Measured{Value: 0.01, Given: true} }, "scale-uncertainty-assumed scale-extrapolated"},
		{"lean not given", func(s *Spec, c pinhole) { s.Lean = Measured{} }, "scale-lean-assumed scale-extrapolated"},
		{"a mark beside the rod", func(s *Spec, c pinhole) { s.Marks[2].At.X += 25 }, "scale-rod-crooked scale-extrapolated"},
		{"exact points that contradict", func(s *Spec, c pinhole) {
			s.Kind, s.MarkU = KindPlane, new(float64)
			for _, q := range [][2]float64{{-1, 0}, {1, 0}, {-1, 2.5}, {1, 2.5}, {0, 1}} {
				s.Plane = append(s.Plane, PlanePoint{X: q[0], Y: q[1], At: c.see(q[0], q[1]-1, 8)})
			}
			s.Plane[4].At.Y += 3
		}, "scale-marks-scatter"},
		{"length", func(s *Spec, c pinhole) {
			s.Kind, s.Length = KindLength, exactly(0.5)
			s.Ends = [2]Pixel{c.see(0, -1.5, 8), c.see(0, -1, 8)}
		}, "scale-single-length"},
		{"short length", func(s *Spec, c pinhole) {
			s.Kind, s.Length = KindLength, exactly(0.02)
			s.Ends = [2]Pixel{c.see(0, -1.02, 8), c.see(0, -1, 8)}
		}, "scale-single-length scale-weak"},
	} {
		t.Run(k.name, func(t *testing.T) {
			t.Parallel()
			spec, line, reach, c, _ := level()
			k.change(&spec, c)
			_, w := mustCalibrate(t, spec, line, reach)
			if got := codes(w); got != k.want {
				t.Errorf("warnings %q, want %q\n%v", got, k.want, w)
			}
		})
	}
}
