package camera

import (
	"math"
	"testing"
)

// TestObliquity: 1 - cos: 5 degrees 0.38 %, 10 degrees 1.52 % (derived), seen from so far
// that the change of distance does not count.
func TestObliquity(t *testing.T) {
	t.Parallel()
	for _, k := range []struct{ lean, want float64 }{{5, 0.0038}, {10, 0.0152}} {
		c, f := pinhole{1.8e8, 0}, flight{y: -1, z: 8e5, lean: k.lean * degree}
		spec := rodSpec(c, 0.3, -1, 8e5, 0, 0.5, 1, 1.5, 2)
		line, reach := f.line(c, 2.4)
		blind, _ := mustCalibrate(t, spec, line, reach)
		const printed = 5e-5 // digits of the two figures
		if got := 1 - blind.HeightAt(f.at(c, 2))/2; math.Abs(got-k.want) > printed {
			t.Errorf("a lean of %g degrees hides %.5f, want %.4f", k.lean, got, k.want)
		}
		spec.Lean = exactly(k.lean * degree)
		told, _ := mustCalibrate(t, spec, line, reach)
		if got := told.HeightAt(f.at(c, 2)); math.Abs(got/2-1) > 1e-5 {
			t.Errorf("a known lean of %g degrees: height %g, want 2", k.lean, got)
		}
	}
}

// TestLeanWithin: a flight seen to lean by 8 degrees within the picture is expected to lean more
// out of it too, sqrt((4 2^2 + 8^2)/5) = 4 degrees; an upright one keeps the default.
func TestLeanWithin(t *testing.T) {
	t.Parallel()
	const printed = 0.01 * degree // the flight seen leans by 8 degrees to that
	for _, k := range []struct{ aside, want float64 }{{0, 2}, {1, 2}, {8, 4}} {
		c, f := pinhole{1800, 0}, flight{y: -1, z: 8, aside: k.aside * degree}
		spec := rodSpec(c, 0.3, -1, 8, 0, 0.5, 1, 1.5, 2)
		spec.Lean = Measured{}
		line, reach := f.line(c, 2.4)
		s, _ := mustCalibrate(t, spec, line, reach)
		if math.Abs(s.spec.Lean.U-k.want*degree) > printed {
			t.Errorf("seen to lean by %g degrees: uncertainty %.3f degrees, want %g", k.aside, s.spec.Lean.U/degree, k.want)
		}
	}
}

// TestSizeTellsLean: a flight that leans away by 15 degrees looks smaller as it goes; without any
// word of the lean heights are nearer to the truth by its size than without.
func TestSizeTellsLean(t *testing.T) {
	t.Parallel()
	c, f := pinhole{1800, 0}, flight{y: -1, z: 8, lean: 15 * degree}
	spec := rodSpec(c, 0.3, -1, 8, 0, 0.5, 1, 1.5, 2)
	spec.Lean = Measured{U: 10 * degree, Given: true}
	line, reach := f.line(c, 2.4)
	size := 8 / (8 + 2.4*math.Sin(f.lean)) // of what lies across
	blind, _ := mustCalibrate(t, spec, line, reach)
	told, _, err := Calibrate(spec, line, reach, Growth{Rate: 1.5 * (size - 1) / reach, U: 1e-6, Known: true})
	if err != nil {
		t.Fatal(err)
	}
	p := f.at(c, 2.4)
	before, after := blind.HeightAt(p)/2.4-1, told.HeightAt(p)/2.4-1
	if inside := told.halfWidth(""); !(math.Abs(after) < math.Abs(before)/2) || math.Abs(after) > inside {
		t.Errorf("height errs by %.2f %% without the size, by %.2f %% with it, give or take %.2f %%", 100*before, 100*after, 100*inside)
	}
}

// TestSizeContradicts: an apparent size that the rod's perspective excludes is left out and said.
func TestSizeContradicts(t *testing.T) {
	t.Parallel()
	spec, line, reach, _, _ := level()
	plain, _ := mustCalibrate(t, spec, line, reach)
	s, w, err := Calibrate(spec, line, reach, Growth{Rate: -0.3 / reach, U: 1e-5, Known: true})
	if err != nil {
		t.Fatal(err)
	}
	if got := codes(w); got != "scale-size-contradicted scale-extrapolated" {
		t.Errorf("warnings %q\n%v", got, w)
	}
	if s.Height(300) != plain.Height(300) {
		t.Errorf("the size moves heights")
	}
}
