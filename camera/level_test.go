package camera

import (
	"math"
	"testing"
)

// A level line is drawn where an independent pinhole camera (see pinhole) sees two points beside
// the flight at its height: through a rod or a plane seen from a tilted camera, through a lens that
// bends it, and with the whole camera on its side.
func TestLevelIsSeenWhereItIs(t *testing.T) {
	t.Parallel()
	const near = 0.02 // px: the pieces of the bent line are straight
	c := pinhole{focal: 1500, tilt: 14 * degree}
	fl := flight{x: 0.7, y: -1, z: 8}
	line, reach := fl.line(c, 4)
	rod := rodSpec(c, -0.9, -1, 8, 0, 1, 2, 3)
	rod.Lens = Lens{FocalLength: exactly(1500e-6), PixelPitch: exactly(1e-6), Tilt: exactly(c.tilt)}
	board := Spec{Kind: KindPlane, Width: wide, Height: high, Lean: exactly(0)}
	for _, at := range [][2]float64{{-1, 0}, {1, 0}, {-1, 3}, {1, 3}, {0.2, 1.5}} {
		board.Plane = append(board.Plane, PlanePoint{X: at[0], Y: at[1], At: c.see(at[0], at[1]-1, 8)})
	}
	for name, spec := range map[string]Spec{"rod": rod, "plane": board} {
		s, _, err := Calibrate(spec, line, reach, Growth{})
		if err != nil {
			t.Fatal(name, err)
		}
		for _, h := range []float64{0, 1.3, 3.5} {
			at := fl.at(c, h)
			along := math.Hypot(at.X-line.Rest.X, at.Y-line.Rest.Y)
			left, right := c.see(fl.x-0.5, fl.y+h, fl.z), c.see(fl.x+0.5, fl.y+h, fl.z)
			got := s.Level(along, (right.X-left.X)/2)
			for i, want := range map[int]Pixel{0: left, len(got) - 1: right} {
				if d := math.Hypot(got[i].X-want.X, got[i].Y-want.Y); d > near {
					t.Errorf("%s, %g m: end %d of the line is at %.3f, want %.3f", name, h, i, got[i], want)
				}
			}
		}
	}
}

// A lens that bends lines bends level ones: every point of the line is where the lens shows the
// straight one.
func TestLevelBendsWithTheLens(t *testing.T) {
	t.Parallel()
	const near = 1e-6 // px
	c := pinhole{focal: 1500}
	lens := Distortion{Centre: Pixel{(wide - 1) / 2.0, (high - 1) / 2.0}, Focal: 1500, K1: -0.03}
	fl := flight{x: 0, y: -1, z: 8}
	line, reach := fl.line(c, 4)
	spec := rodSpec(c, -0.9, -1, 8, 0, 1, 2)
	for i := range spec.Marks {
		spec.Marks[i].At = lens.Apply(spec.Marks[i].At)
	}
	line.Rest = lens.Apply(line.Rest)
	spec.Lens = Lens{FocalLength: exactly(1500e-6), PixelPitch: exactly(1e-6), Tilt: exactly(0), K1: -0.03}
	s, _, err := Calibrate(spec, line, reach, Growth{})
	if err != nil {
		t.Fatal(err)
	}
	got := s.Level(reach, 450)
	middle := lens.Undistort(got[len(got)/2])
	if len(got) < 3 {
		t.Fatalf("%d points make no bent line", len(got))
	}
	for _, p := range got {
		if u := lens.Undistort(p); math.Abs(u.Y-middle.Y) > near {
			t.Errorf("%.3f lies %.2g px off the level", p, u.Y-middle.Y)
		}
	}
	if straight := (got[0].Y + got[len(got)-1].Y) / 2; math.Abs(straight-got[len(got)/2].Y) < 0.5 {
		t.Error("the lens does not bend the line")
	}
}

// Where the flight goes along the rows, the camera lay on its side, and a level line goes along the
// columns.
func TestLevelOnItsSide(t *testing.T) {
	t.Parallel()
	line := FlightLine{Pixel{100, 300}, 1, 0}
	spec := Spec{Kind: KindLength, Width: 1000, Height: 600, Length: exactly(1), Ends: [2]Pixel{{100, 300}, {300, 300}}, Lean: exactly(0)}
	s, _, err := Calibrate(spec, line, 500, Growth{})
	if err != nil {
		t.Fatal(err)
	}
	got := s.Level(200, 50)
	if a, b := got[0], got[1]; a != (Pixel{300, 250}) || b != (Pixel{300, 350}) {
		t.Errorf("the line goes from %v to %v, want the column at 300 from 250 to 350", a, b)
	}
}
