package scene

import (
	"math"
	"testing"
)

// plainVehicle is a white rocket on a level camera that sees 1 mm per pixel.
func plainVehicle() Vehicle {
	return Vehicle{Motion: even{speed: 5}, Range: 10, Shape: Rocket, Length: 0.4, Diameter: 0.05,
		Livery: Livery{Body: RGB{1, 1, 1}, Nose: RGB{1, 1, 1}, Trim: RGB{1, 1, 1}, Fin: RGB{1, 1, 1}}}
}

// A vehicle that cocks is drawn where Truth says, nose and tail on a line that leans by the angle, its middle on the flight line.
func TestCock(t *testing.T) {
	t.Parallel()
	v := plainVehicle()
	v.Cock = Cock{Angle: 0.3, After: 0.05, Over: 0.2}
	cam := square(500, 900)
	s := &Scene{Camera: cam, Vehicles: []Vehicle{v}, Stamps: Rate(12, 100)}
	for _, i := range []int{0, 2, 9} {
		h := v.Motion.At(s.Stamps[i]).Height
		angle := 0.3 * smooth(0.05, 0.25, h)
		nose, tail := s.Truth(1, i, v.Length).Pixel, s.Truth(1, i, 0).Pixel
		if got := math.Atan2(nose.X-tail.X, tail.Y-nose.Y); math.Abs(got-angle) > 0.005 { // the camera looks a little upward at it
			t.Errorf("frame %d: the axis leans by %g, want %g", i, got, angle)
		}
		middle, want := s.Truth(1, i, v.Length/2).Pixel, cam.Project(0, h+v.Length/2, 10)
		if math.Hypot(middle.X-want.X, middle.Y-want.Y) > 1e-6 {
			t.Errorf("frame %d: the middle is at %v, want %v", i, middle, want)
		}
		out := newCanvas(cam.Width, cam.Height, 1)
		sh := s.sheetAt(&s.Vehicles[0], i)
		s.drawParts(out, []part{ball(0.01, white)}, stroke{sheet: &sh, knots: at(h + 0.38)})
		_, x, y, _ := moments(out)
		if at := s.Truth(1, i, 0.39).Pixel; math.Hypot(x-at.X, y-at.Y) > 0.05 { // px: the ball's own perspective
			t.Errorf("frame %d: a ball at the nose is drawn at %.2f, %.2f, want %v", i, x, y, at)
		}
	}
}

// Fins of a vehicle turned by an angle reach as far to each side as the widest of the four: span times the sine of its angle.
func TestTurnedFins(t *testing.T) {
	t.Parallel()
	v := plainVehicle()
	r := v.Diameter / 2
	span := r + 0.62*v.Diameter
	for _, turn := range []float64{0.1, 0.4, math.Pi / 4, 1.2, 2} {
		v.Turn = turn
		behind, front := v.turnedFins(r, 0.02)
		var widest float64
		for _, p := range append(behind, front...) {
			widest = math.Max(widest, math.Max(-p.left, p.right))
		}
		want := span * math.Max(math.Abs(math.Sin(turn)), math.Abs(math.Cos(turn)))
		if math.Abs(widest-want) > 1e-12 || len(behind)+len(front) != 4 {
			t.Errorf("turned by %g: %d fins reach %g, want 4 and %g", turn, len(behind)+len(front), widest, want)
		}
	}
}

// A patch painted about a tube is seen as wide as its near part projects, and not at all from the other side.
func TestPatch(t *testing.T) {
	t.Parallel()
	const r = 0.03
	for _, c := range []struct{ from, to, left, right float64 }{
		{-0.5, 0.5, -r * math.Sin(0.5), r * math.Sin(0.5)}, {0.8, 3, r * math.Sin(0.8), r}, {2 * math.Pi, 2*math.Pi + 0.3, 0, r * math.Sin(0.3)},
	} {
		parts := around(r, [2]float64{0.1, 0.2}, [2]float64{c.from, c.to}, RGB{1, 1, 1})
		if len(parts) != 1 || math.Abs(parts[0].left-c.left) > 1e-12 || math.Abs(parts[0].right-c.right) > 1e-12 {
			t.Errorf("patch from %g to %g = %d parts, want one from %g to %g", c.from, c.to, len(parts), c.left, c.right)
			continue
		}
		out := drawn(square(400, 400), parts[0], 0, -0.15, at(0))
		sum, x, y, _ := moments(out)
		wide := 1000 * (c.right - c.left)
		// Seen from 10 m, 1 mm to the pixel on the axis, a little more before it.
		if math.Abs(sum-100*wide) > 100*0.25 || // px: samples across are an eighth apart
			math.Abs(x-199.5-500*(c.left+c.right)) > 0.3 || math.Abs(y-199.5) > 0.3 {
			t.Errorf("patch from %g to %g covers %.1f px about %.2f, %.2f, want %.1f about %.2f, 199.5", c.from, c.to, sum, x, y, 100*wide, 199.5+500*(c.left+c.right))
		}
	}
	if far := around(r, [2]float64{0, 1}, [2]float64{math.Pi - 0.4, math.Pi + 0.4}, RGB{}); far != nil {
		t.Errorf("a patch on the far side shows %d parts", len(far))
	}
}

// Through the air of a clear bottle seven tenths of what lies behind show, through the water four, and the water sinks evenly while the exhaust lasts.
func TestClearBottle(t *testing.T) {
	t.Parallel()
	v := Vehicle{Motion: even{}, Shape: Bottle, Length: 0.4, Diameter: 0.09, Range: 10, Water: 0.2, Exhaust: Exhaust{From: 0, To: 0.1}}
	for _, c := range []struct{ t, level float64 }{{-1, 0.2}, {0.05, 0.1}, {0.2, 0}} {
		for _, p := range v.partsAt(c.t) {
			if p.body == nil || p.body.base == 0 {
				continue
			}
			for _, h := range []float64{0.02, 0.08, 0.15, 0.19, 0.21} {
				want := 0.3
				if h < c.level {
					want = 0.6
				} else if h < c.level+0.008*v.Length && c.level > 0 {
					continue // its surface
				}
				if got := p.body.band(h)[3]; math.Abs(got-want) > 1e-12 {
					t.Errorf("at %g s, %g m up, the bottle covers %g, want %g", c.t, h, got, want)
				}
			}
		}
	}
}
