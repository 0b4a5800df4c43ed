package camera

import (
	"math"
	"testing"
)

const degree = math.Pi / 180

// pinhole is a camera written down independently of the package: at the origin of the
// world, heading along Z, tilted up, Y up; pictures 1000 wide and 4000 high.
type pinhole struct{ focal, tilt float64 }

const (
	wide = 1000
	high = 4000 // tall enough that no tilt drawn loses the rod
)

// see projects a point by rotating the world about the camera's X axis.
func (c pinhole) see(x, y, z float64) Pixel {
	y, z = y*math.Cos(c.tilt)-z*math.Sin(c.tilt), y*math.Sin(c.tilt)+z*math.Cos(c.tilt)
	return Pixel{(wide-1)/2.0 + c.focal*x/z, (high-1)/2.0 - c.focal*y/z}
}

// flight is a launch straight up or leaning: rest at (x, y, z), leaning away by lean.
type flight struct{ x, y, z, lean, aside float64 }

func (f flight) at(c pinhole, h float64) Pixel {
	return c.see(f.x+h*math.Sin(f.aside), f.y+h*math.Cos(f.aside)*math.Cos(f.lean), f.z+h*math.Cos(f.aside)*math.Sin(f.lean))
}

func (f flight) line(c pinhole, top float64) (FlightLine, float64) {
	a, b := f.at(c, 0), f.at(c, top)
	d := math.Hypot(b.X-a.X, b.Y-a.Y)
	return FlightLine{a, (b.X - a.X) / d, (b.Y - a.Y) / d}, d
}

// exactly is a quantity without error.
func exactly(v float64) Measured { return Measured{Value: v, Given: true, Exact: true} }

// rodSpec marks a rod at (x, z) whose zero is at height y.
func rodSpec(c pinhole, x, y, z float64, heights ...float64) Spec {
	s := Spec{Kind: KindRod, Width: wide, Height: high, Lean: exactly(0), RodRange: exactly(z), FlightRange: exactly(z)}
	for _, h := range heights {
		s.Marks = append(s.Marks, Mark{Height: h, At: c.see(x, y+h, z)})
	}
	return s
}

// TestRodExact: without errors of the marks, heights come out exact whatever the tilt, the
// rod's place beside the flight line, its range, or a known lean (geometry of the pinhole).
func TestRodExact(t *testing.T) {
	t.Parallel()
	const exact = 1e-7 // relative: rounding; c known exactly is weighed as known to 1e-7
	for _, c := range []struct {
		name   string
		cam    pinhole
		fl     flight
		rodX   float64
		rodZ   float64
		within float64
	}{
		{"level", pinhole{1800, 0}, flight{z: 8, y: -1}, 0.4, 8, exact},
		{"tilted, rod in the middle", pinhole{1800, 10 * degree}, flight{y: -0.5, z: 8}, 0, 8, exact},
		// the transfer beside the axis takes uprights to converge, second order left
		{"tilted, rod beside", pinhole{1800, 10 * degree}, flight{x: -0.3, y: -0.5, z: 8}, 0.5, 8, 2e-4},
		{"tilted down", pinhole{1200, -12 * degree}, flight{x: 0.3, y: -3, z: 8}, -0.4, 8, 2e-4},
		{"rod nearer", pinhole{1800, 0}, flight{y: -1, z: 8.4}, 0.3, 8, exact},
		{"leaning aside", pinhole{1800, 0}, flight{y: -1, z: 8, aside: 6 * degree}, 0.3, 8, exact},
		{"leaning away", pinhole{1800, 0}, flight{y: -1, z: 8, lean: 5 * degree}, 0.3, 8, exact},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := rodSpec(c.cam, c.rodX, c.fl.y, c.rodZ, 0, 0.5, 1, 1.5, 2, 2.5)
			s.FlightRange = exactly(c.fl.z)
			s.Lean = exactly(c.fl.lean)
			s.Lens = Lens{FocalLength: exactly(c.cam.focal * 5e-6), PixelPitch: exactly(5e-6), Tilt: exactly(c.cam.tilt)}
			line, reach := c.fl.line(c.cam, 2.5)
			scale, _, err := Calibrate(s, line, reach, Growth{})
			if err != nil {
				t.Fatal(err)
			}
			for _, h := range []float64{0.1, 0.7, 1.4, 2.5} {
				if got := scale.HeightAt(c.fl.at(c.cam, h)); math.Abs(got/h-1) > c.within {
					t.Errorf("HeightAt(point at %g m) = %.9g", h, got)
				}
			}
		})
	}
}
