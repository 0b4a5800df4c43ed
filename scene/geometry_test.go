package scene

import (
	"math"
	"testing"

	"padside/flight"
)

// tolPinhole: rounding only, px.
const tolPinhole = 1e-9

func testCamera() Camera {
	return Camera{Width: 448, Height: 1120, FocalLength: 0.025, PixelPitch: 6.6e-6, Across: 0.1, Elevation: 0.9, Tilt: 0.06}
}

// The pinhole by angles: a point straight ahead at elevation angle e is seen
// f tan(e - tilt) above the centre.
func TestProjectByAngles(t *testing.T) {
	t.Parallel()
	c := testCamera()
	f := 0.025 / 6.6e-6
	for _, p := range []struct{ y, z float64 }{{0, 8}, {0.9, 8}, {2.5, 7.3}, {1, 40}} {
		got := c.Project(0.1, p.y, p.z)
		want := 559.5 - f*math.Tan(math.Atan2(p.y-0.9, p.z)-0.06)
		if math.Abs(got.Y-want) > tolPinhole || math.Abs(got.X-223.5) > tolPinhole {
			t.Errorf("Project(0.1, %g, %g) = %v, want 223.5, %.6f", p.y, p.z, got, want)
		}
	}
	// Level camera: plain proportion.
	c.Tilt = 0
	got := c.Project(0.6, 1.4, 10)
	if wantX, wantY := 223.5+f*0.05, 559.5-f*0.05; math.Abs(got.X-wantX) > tolPinhole || math.Abs(got.Y-wantY) > tolPinhole {
		t.Errorf("Project = %v, want %g, %g", got, wantX, wantY)
	}
	// Rolled clockwise by a quarter turn, what was up is seen to the left.
	c.Roll = math.Pi / 2
	got = c.Project(0.1, 1.4, 10)
	if math.Abs(got.X-(223.5-f*0.05)) > tolPinhole || math.Abs(got.Y-559.5) > tolPinhole {
		t.Errorf("Project when rolled = %v, want %g, 559.5", got, 223.5-f*0.05)
	}
}

func TestProjectDistortion(t *testing.T) {
	t.Parallel()
	c := testCamera()
	c.Tilt, c.Across, c.K1, c.K2 = 0, 0, -0.2, 0.5
	r := 0.1 // of the axis
	got := c.Project(0, 0.9+r*10, 10)
	want := 559.5 - c.scale()*(r-0.2*r*r*r+0.5*math.Pow(r, 5))
	if math.Abs(got.Y-want) > tolPinhole {
		t.Errorf("Project = %v, want y %g", got, want)
	}
}

// What is seen at a pixel is seen at that pixel.
func TestSheetRoundTrip(t *testing.T) {
	t.Parallel()
	c := testCamera()
	c.Roll, c.K1, c.K2 = 0.02, -0.15, 0.1
	v := Vehicle{Across: -0.2, Range: 8, Pad: 0.3, Lean: 0.08, Slant: -0.05, Motion: even{}}
	sh := v.sheet(&c)
	for _, p := range [][2]float64{{0, 0}, {223.5, 559.5}, {447, 1119}, {30, 800}} {
		s, q := sh.locate(p[0], p[1])
		got := sh.see(s, q)
		if math.Hypot(got.X-p[0], got.Y-p[1]) > 1e-8 {
			t.Errorf("see(locate(%v)) = %v", p, got)
		}
	}
	// The axis leans as asked: 1 m along it rises cos(lean) cos(slant).
	if rise := sh.along.y; math.Abs(rise-math.Cos(0.08)*math.Cos(0.05)) > 1e-12 {
		t.Errorf("rise of the axis = %g", rise)
	}
}

// even moves at a constant speed (m/s) and acceleration (m/s2) from time 0 on.
type even struct{ speed, acceleration float64 }

func (e even) At(t float64) flight.State {
	if t <= 0 {
		return flight.State{}
	}
	return flight.State{Height: e.speed*t + e.acceleration*t*t/2, Speed: e.speed + e.acceleration*t, Acceleration: e.acceleration}
}

// square is a camera that sees 1 mm per pixel at a range of 10 m, level.
func square(w, h int) Camera {
	return Camera{Width: w, Height: h, FocalLength: 0.1, PixelPitch: 1e-5, Elevation: 0}
}

// drawn draws one white part on black, standing at x, y (m) and range 10 m, without light.
func drawn(c Camera, p part, x, y float64, knots func(x, y int) []float64) *canvas {
	s := &Scene{Camera: c}
	out := newCanvas(c.Width, c.Height, 1)
	sh := newSheet(&s.Camera, vec{x, y, 10}, vec{0, 1, 0})
	s.drawParts(out, []part{p}, stroke{sheet: &sh, knots: knots})
	return out
}

func at(h ...float64) func(x, y int) []float64 { return func(int, int) []float64 { return h } }

// moments returns sum, centroid and variance along y of a canvas.
func moments(c *canvas) (sum, mx, my, vy float64) {
	for i, v := range c.planes[0] {
		x, y, w := float64(i%c.w), float64(i/c.w), float64(v)
		sum += w
		mx += w * x
		my += w * y
		vy += w * y * y
	}
	mx, my = mx/sum, my/sum
	return sum, mx, my, vy/sum - my*my
}

var white = []Band{{-99, RGB{1, 1, 1}}}

// The centroid of a small drawn ball is the projected centre, wherever it lies between pixels.
func TestBallCentroid(t *testing.T) {
	t.Parallel()
	const (
		tolAcross = 0.01  // px: eight samples per pixel
		tolAlong  = 0.003 // px: of the centroid of pixels, which takes each edge pixel's light as centred
	)
	cam := square(64, 64)
	for i := range 21 {
		dx, dy := float64(i)/20, float64((i*7)%20)/20
		x, y := dx*1e-3, -dy*1e-3
		want := cam.Project(x, y, 10)
		for _, blur := range []float64{0, 0.6} {
			cam.Blur = blur
			sum, mx, my, _ := moments(drawn(cam, ball(5e-3, white), x, y, at(-5e-3)))
			if math.Abs(mx-want.X) > tolAcross || math.Abs(my-want.Y) > tolAlong {
				t.Errorf("centroid = %.4f, %.4f, want %.4f, %.4f", mx, my, want.X, want.Y)
			}
			if area := math.Pi * 25; math.Abs(sum-area) > 0.01*area {
				t.Errorf("area = %g px, want %g", sum, area)
			}
		}
	}
}

// Blur of a moving box: evenly smeared over v t, so its variance grows by (v t)^2/12.
func TestExposureBlur(t *testing.T) {
	t.Parallel()
	cam := square(32, 128)
	bar := box(-4e-3, 4e-3, -10e-3, 10e-3, white) // 8 by 20 px
	for _, move := range []float64{0, 0.3, 1, 7.5, 33} {
		_, _, my, vy := moments(drawn(cam, bar, 0, -2e-4, at(0, move*1e-3/2, move*1e-3)))
		want := (20*20 + move*move) / 12
		// A pixel's own width adds 1/12.
		if math.Abs(vy-1./12-want) > 3e-3*want { // of the sum over pixels, as above
			t.Errorf("variance after a move of %g px = %g, want %g", move, vy-1./12, want)
		}
		if centre := 63.5 + 0.2 - move/2; math.Abs(my-centre) > 1e-3 {
			t.Errorf("centroid after a move of %g px = %g, want %g", move, my, centre)
		}
	}
}

// A rolling shutter read from the top against a rocket at 20000 px/s, 12.5 us per row: what rises
// looks 0.8 times as long, what falls 1.333 times (derived: 1/(1 + v t_line)).
func TestRollingShutterLength(t *testing.T) {
	t.Parallel()
	cam := square(32, 1000)
	cam.RowTime = 12.5e-6
	bar := box(-4e-3, 4e-3, -100e-3, 100e-3, white)
	for _, c := range []struct{ speed, factor float64 }{{20, 1 / 1.25}, {-20, 1 / 0.75}} {
		knots := func(_, y int) []float64 { return []float64{c.speed * (float64(y) - 500) * cam.RowTime} }
		out := drawn(cam, bar, 0, 0, knots)
		var length float64
		for y := range cam.Height {
			length += float64(out.planes[0][y*cam.Width+15])
		}
		const tolRow = 0.5 // px: each row has one instant
		if want := 200 * c.factor; math.Abs(length-want) > tolRow {
			t.Errorf("apparent length at %g m/s = %g px, want %g", c.speed, length, want)
		}
		// The truth says the same, to rounding.
		v := Vehicle{Motion: even{speed: math.Abs(c.speed)}, Range: 10, Length: 0.2, Falls: c.speed < 0, Pad: -0.3 * c.speed / 20, Start: 0}
		s := &Scene{Camera: cam, Vehicles: []Vehicle{v}, Stamps: []float64{0.01}}
		apparent := math.Abs(s.Truth(1, 0, 0.2).Pixel.Y - s.Truth(1, 0, 0).Pixel.Y)
		if want := 200 * c.factor; math.Abs(apparent-want) > 1e-6 {
			t.Errorf("Truth: apparent length at %g m/s = %g px, want %g", c.speed, apparent, want)
		}
	}
}

// edge returns where brightness, which is a outside and b inside, changes between rows y0
// and y1 of column x: the place that shares the sum out exactly.
func edge(c *canvas, x, y0, y1 int) float64 {
	a, b := float64(c.planes[0][y0*c.w+x]), float64(c.planes[0][y1*c.w+x])
	var sum float64
	for y := y0; y <= y1; y++ {
		sum += (float64(c.planes[0][y*c.w+x]) - b) / (a - b)
	}
	return float64(y0) - 0.5 + sum
}

// Marks lie where the rod's bands are drawn to meet.
func TestMarksLieOnBands(t *testing.T) {
	t.Parallel()
	cam := testCamera()
	cam.Blur = 0.6
	s := &Scene{Camera: cam, Rod: &Rod{Across: 0.1, Range: 8, Base: 0.2, Length: 2, Band: 0.1, Width: 0.05}}
	out := newCanvas(cam.Width, cam.Height, 1)
	sh := newSheet(&s.Camera, vec{0.1, 0.2, 8}, vec{0, 1, 0})
	s.drawParts(out, s.Rod.parts(), stroke{sheet: &sh, knots: at(0)})
	marks := s.Marks()
	if len(marks) < 15 {
		t.Fatalf("Marks = %d, want the rod in view", len(marks))
	}
	const tolMark = 0.005 // px: perspective bends a pixel's worth of axis
	for _, m := range marks[1:] {
		if m.At > 1.95 || m.Y < 20 || m.Y > 1100 {
			continue
		}
		if got := edge(out, 223, int(m.Y)-10, int(m.Y)+10); math.Abs(got-m.Y) > tolMark {
			t.Errorf("mark at %g m is drawn at %.4f, want %.4f", m.At, got, m.Y)
		}
	}
	if thin := Thin(marks, 5); len(thin) != 5 || thin[0] != marks[0] || thin[4] != marks[len(marks)-1] {
		t.Errorf("Thin = %v, want five from first to last", thin)
	}
	off := Perturb(marks, 0.5, 3)
	var ss float64
	for i := range off {
		ss += math.Pow(off[i].X-marks[i].X, 2) + math.Pow(off[i].Y-marks[i].Y, 2)
	}
	if sd := math.Sqrt(ss / float64(2*len(off))); sd < 0.3 || sd > 0.7 { // about 40 draws
		t.Errorf("Perturb errs by %g px, want 0.5", sd)
	}
}

// A moving rocket's painted edges are drawn where Truth says, averaged over the exposure.
func TestTruthMatchesDrawing(t *testing.T) {
	t.Parallel()
	cam := testCamera()
	cam.Blur, cam.Exposure, cam.Across = 0.6, 1/4000., 0
	v := Vehicle{Motion: even{acceleration: 300}, Start: 0.01, Range: 8, Pad: 0.3, Lean: 0.03,
		Shape: Rocket, Length: 0.6, Diameter: 0.08, Livery: Livery{Body: RGB{1, 1, 1}, Nose: RGB{1, 1, 1}, Trim: RGB{}, Fin: RGB{}}}
	s := &Scene{Camera: cam, Vehicles: []Vehicle{v}, Stamps: Rate(120, 1600)}
	noseLength := min(0.30*0.6, 3.2*0.08)
	along := 0.6 - noseLength - 0.20*0.6 // where the trim begins
	check := func(tolerance float64) {
		t.Helper()
		for _, i := range []int{0, 20, 40, 77, 110} {
			out, at := newCanvas(cam.Width, cam.Height, 1), s.at(i)
			sh := v.sheet(at.Camera)
			s.drawParts(out, v.parts(), stroke{sheet: &sh, knots: s.knotsOf(&s.Vehicles[0], i), hand: at.movement, sideways: s.sideways()})
			want := s.Before(1, i, along, v.RadiusAt(along))
			x := int(math.Round(want.Pixel.X))
			if got := edge(out, x, int(want.Pixel.Y)-9, int(want.Pixel.Y)+9); math.Abs(got-want.Pixel.Y) > tolerance {
				t.Errorf("frame %d: edge drawn at %.4f, want %.4f", i, got, want.Pixel.Y)
			}
		}
	}
	check(0.01) // px: the mean of the exposure is not its middle, by a t^2/24
	s.Camera.RowTime, s.Camera.Shake, s.Camera.Sway = 3e-6, 1.3, Sway{Roll: 0.01, Zoom: 0.01}
	for _, s.Camera.Readout = range []Readout{FromTop, FromBottom, FromLeft, FromRight} {
		check(0.02) // px: and each row has one instant, half a row's time from its edges
	}
}

// The averages of paint against brute force.
func TestPaintAverage(t *testing.T) {
	t.Parallel()
	p := newPaint([]Band{{0, RGB{0.2, 0.5, 1}}, {0.3, RGB{1, 0, 0.3}}, {0.35, RGB{0.1, 0.9, 0.6}}})
	for _, c := range [][6]float64{
		{0.29, 0.31, 0, 0.5, 0, 0}, {-0.1, 0.2, 0.05, 0.5, 0, 0.02}, {0.2, 0.6, 0, 0.5, 0.01, 0.2}, {0.48, 0.52, 0, 0.5, 0.03, -0.03},
	} {
		got := p.average(c[0], c[1], c[2], c[3], c[4], c[5])
		var want [4]float64
		const n = 2000
		for i := range n {
			h := c[4] + (c[5]-c[4])*(float64(i)+0.5)/n
			for j := range 200 {
				s := c[0] + (c[1]-c[0])*(float64(j)+0.5)/200 - h
				if s < c[2] || s > c[3] {
					continue
				}
				for k, v := range p.colour[p.band(s)] {
					want[k] += v / (n * 200)
				}
			}
		}
		for k := range want {
			if math.Abs(got[k]-want[k]) > 4e-3 { // of the brute force
				t.Errorf("average(%v) = %v, want %v", c, got, want)
				break
			}
		}
	}
}
