package scene

import (
	"math"
	"testing"
)

// filled is a canvas of one plane, filled with a level of light.
func filled(w, h int, level float32) *canvas {
	c := newCanvas(w, h, 1)
	for i := range c.planes[0] {
		c.planes[0][i] = level
	}
	return c
}

// A camera that rolls and zooms sees a rod's marks where a camera set so would, and draws them there; frame 0 is as set.
func TestSway(t *testing.T) {
	t.Parallel()
	cam := testCamera()
	cam.Blur, cam.Across, cam.Sway = 0.6, 0, Sway{Roll: 0.01, Zoom: 0.02}
	s := &Scene{Camera: cam, Stamps: Rate(60, 30), Sensor: Sensor{Mono: true}, Rod: &Rod{Across: 0, Range: 8, Base: 0.2, Length: 2, Band: 0.1, Width: 0.08}}
	if *s.cameraAt(0) != s.Camera {
		t.Error("frame 0 is turned or zoomed")
	}
	var turned, zoomed float64
	for _, i := range []int{20, 59} {
		c := *s.cameraAt(i)
		turned, zoomed = math.Max(turned, math.Abs(c.Roll-cam.Roll)), math.Max(zoomed, math.Abs(c.FocalLength/cam.FocalLength-1))
		out := newCanvas(cam.Width, cam.Height, 1)
		sh := newSheet(&c, vec{0, 0.2, 8}, vec{0, 1, 0})
		s.drawParts(out, s.Rod.parts(), stroke{sheet: &sh, knots: at(0)})
		for _, m := range []float64{0.5, 1.5} {
			want := c.Project(0, 0.2+m, 8)
			if got := edge(out, int(math.Round(want.X)), int(want.Y)-9, int(want.Y)+9); math.Abs(got-want.Y) > 0.02 { // px: the edge slants across the column
				t.Errorf("frame %d: mark at %g m is drawn at %.3f, want %.3f", i, m, got, want.Y)
			}
		}
	}
	if turned < 1e-3 || zoomed < 2e-3 || turned > 0.06 || zoomed > 0.12 {
		t.Errorf("turned by %g rad and zoomed by %g, want about 0.01 and 0.02", turned, zoomed)
	}
	var sum float64
	const n = 20000
	for i := range n {
		w := wander(float64(i)*0.37, 5)
		sum += w * w
	}
	if rms := math.Sqrt(sum / n); math.Abs(rms-1) > 0.02 { // of the sampling
		t.Errorf("wander has a root mean square of %g, want 1", rms)
	}
}

// The backdrop is turned and zoomed with the camera: a blob of tiles is seen where the similarity puts it.
func TestWarpedBackdrop(t *testing.T) {
	t.Parallel()
	b := &backdrop{canvas: newCanvas(160, 160, 1), margin: 20, tiles: 2}
	for i := range b.canvas.planes[0] { // a blob about pixel (24, 16)
		x, y := (float64(i%160)+0.5)/2-0.5-20-24, (float64(i/160)+0.5)/2-0.5-20-16
		b.canvas.planes[0][i] = float32(math.Exp(-(x*x + y*y) / (2 * 2 * 2)))
	}
	b.gather(1)
	c := newCanvas(40, 40, 1)
	const angle, zoom = 0.2, 1.1
	st, ct := math.Sincos(angle)
	b.warped(c, func(x, y float64) (u, v float64) { // about the centre (20, 20)
		x, y = (x-20)/zoom, (y-20)/zoom
		return 20 + x*ct - y*st, 20 + x*st + y*ct
	})
	_, x, y, _ := moments(c)
	wantX, wantY := 20+zoom*(4*ct-4*st), 20+zoom*(-4*st-4*ct)
	if math.Abs(x-wantX) > 0.02 || math.Abs(y-wantY) > 0.02 { // px: the linear pieces between tiles
		t.Errorf("the blob is seen at %.3f, %.3f, want %.3f, %.3f", x, y, wantX, wantY)
	}
}

// Clouds drift by what is asked, the ground stays; trees sway about where they were, no farther than asked.
func TestBreeze(t *testing.T) {
	t.Parallel()
	s := &Scene{Camera: Camera{Width: 100, Height: 100, FocalLength: 0.1, PixelPitch: 1e-3, Elevation: 1}, Stamps: Rate(20, 10), Backdrop: Backdrop{Trees: 10, Beyond: 50, Drift: 7, Breeze: 3}}
	s.air = newNoise(4)
	for _, at := range []float64{0, 0.4, 1.7} {
		air := s.breeze(at)
		if x, y := air(vec{0.1, 0.9, 1}); math.Abs(x-7*at) > 1e-9 || y != 0 {
			t.Errorf("at %g s the sky has moved by %g, %g, want %g, 0", at, x, y, 7*at)
		}
		if x, y := air(vec{0.1, -0.2, 1}); x != 0 || y != 0 {
			t.Errorf("at %g s the ground has moved by %g, %g", at, x, y)
		}
	}
	var sum, sum2, most float64
	const n = 4000
	for i := range n {
		s.Backdrop.Drift = 0
		x, _ := s.breeze(float64(i) * 0.13)(vec{0.05, 0.16, 1}) // near the top of the trees
		sum, sum2, most = sum+x, sum2+x*x, math.Max(most, math.Abs(x))
	}
	if most > 3 || math.Sqrt(sum2/n) < 0.6 || math.Abs(sum/n) > 0.15 {
		t.Errorf("the tops sway by %g px rms, %g at most, about %g; want about 1.4, 3 and 0", math.Sqrt(sum2/n), most, sum/n)
	}
}

// Who walks by is seen where somebody at that place would be, and hides what lies behind by as much as the drawn figure covers.
func TestPasser(t *testing.T) {
	t.Parallel()
	cam := square(400, 400)
	cam.Elevation = 0.9
	p := Passer{Across: -0.1, Speed: 1.5, Range: 100, Height: 1.8, Coat: RGB{1, 1, 1}} // 0.18 px per mm: 18 px high
	s := &Scene{Camera: cam, Stamps: Rate(3, 10), Passers: []Passer{p}}
	s.lamp = newLamp(Light{Overcast: 1})
	for i := range 3 {
		c := newCanvas(400, 400, 1)
		at := s.at(i)
		s.passing(c, at, true)
		sum, x, _, _ := moments(c)
		want := cam.Project(-0.1+1.5*at.t, 0.9, 100)
		if sum == 0 || math.Abs(x-want.X) > 6 { // px: arms and legs swing
			t.Errorf("frame %d: seen at %.1f (light %g), want %.1f", i, x, sum, want.X)
		}
		other := newCanvas(400, 400, 1)
		s.passing(other, at, false)
		if sum, _, _, _ := moments(other); sum > 0 {
			t.Errorf("frame %d: drawn before the flight though behind it", i)
		}
	}
}

// A mist of which a share hides everything brings each place by that share nearer to its own light, on average.
func TestMist(t *testing.T) {
	t.Parallel()
	s := &Scene{Camera: Camera{Width: 600, Height: 600}, Light: Light{Mist: 0.4, Overcast: 1}, Stamps: []float64{0}}
	s.lamp, s.air = newLamp(s.Light), newNoise(8)
	dark, bright := filled(600, 600, 0), filled(600, 600, 1)
	s.mist(dark, shown{})
	s.mist(bright, shown{})
	var hidden, level float64
	for i := range dark.planes[0] {
		hidden += 1 - float64(bright.planes[0][i]-dark.planes[0][i])
		level += float64(dark.planes[0][i])
	}
	n := float64(len(dark.planes[0]))
	white := RGB{0.78, 0.80, 0.82}.luminance() * s.lamp.ambient
	if math.Abs(hidden/n-0.4) > 0.06 || math.Abs(level/n-0.4*white) > 0.05 { // of a dozen patches of noise
		t.Errorf("the mist hides %.3f and lights %.3f, want 0.4 and %.3f", hidden/n, level/n, 0.4*white)
	}
}
