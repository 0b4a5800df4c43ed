package scene

import (
	"math"
	"testing"
)

// TestHandByLines: a rolling shutter shows each line where the hand had moved the camera to as that
// line was read: with shake alone, by the shake at its own time, in every direction of reading; with
// roll and zoom, as the camera so rolled and zoomed projects it. What is shown comes from where it
// is seen.
func TestHandByLines(t *testing.T) {
	t.Parallel()
	s := &Scene{Camera: testCamera(), Stamps: Rate(30, 30), Seed: 5}
	c := &s.Camera
	c.Shake, c.RowTime, c.K1, c.K2 = 5, 25e-6, 0, 0
	const i, most = 12, 1e-6 // px
	p := c.Project(0.4, 2, 8)
	for _, c.Readout = range []Readout{FromTop, FromBottom, FromLeft, FromRight} {
		m := s.movement(i)
		x, y := m.seen(p.X, p.Y)
		dx, dy := c.shakeAt(s.Stamps[i]+c.Delay(x, y), s.again()^0x7368616b65)
		if math.Hypot(x-p.X-dx, y-p.Y-dy) > most {
			t.Errorf("reading %d: seen at (%.4f, %.4f), want (%.4f, %.4f)", c.Readout, x, y, p.X+dx, p.Y+dy)
		}
	}
	c.Sway, c.Shake = Sway{Roll: 0.02, Zoom: 0.02}, 0
	x, y := s.movement(i).seen(s.cameraAt(i).Project(0.4, 2, 8).X, s.cameraAt(i).Project(0.4, 2, 8).Y)
	roll, zoom := s.swayAt(s.Stamps[i] + c.Delay(x, y))
	turned := *c
	turned.Roll, turned.FocalLength = c.Roll+roll, c.FocalLength*math.Exp(zoom)
	if want := turned.Project(0.4, 2, 8); math.Hypot(x-want.X, y-want.Y) > most {
		t.Errorf("rolled and zoomed: seen at (%.4f, %.4f), want (%.4f, %.4f)", x, y, want.X, want.Y)
	}
	c.Shake = 5
	m := s.movement(i)
	m.ready() // between lines it is taken as even
	for _, p := range [][2]float64{{30, 20}, {400, 700}, {-5, 900}} {
		x, y := m.seen(p[0], p[1])
		if u, v := m.source(x, y); math.Hypot(u-p[0], v-p[1]) > 1e-4 {
			t.Errorf("what is seen at (%g, %g) comes from (%g, %g), not (%g, %g)", x, y, u, v, p[0], p[1])
		}
	}
}

// TestBackdropByLines: each line of the backdrop is that of a picture all of which the shake had
// moved to where it was as that line was read.
func TestBackdropByLines(t *testing.T) {
	t.Parallel()
	s := &Scene{Camera: testCamera(), Stamps: Rate(30, 30), Seed: 5, Backdrop: Backdrop{Trees: 9, Beyond: 60}, Sensor: Sensor{Mono: true, Depth: 8}}
	c := &s.Camera
	c.Width, c.Height, c.FocalLength, c.Shake, c.RowTime = 120, 160, 0.004, 5, 180e-6
	s.once.Do(s.prepare)
	const i, most = 7, 1e-3 // of full light
	got, whole, one := newCanvas(c.Width, c.Height, 1), newCanvas(c.Width, c.Height, 1), newCanvas(c.Width, c.Height, 1)
	seed := s.again() ^ 0x7368616b65
	dx, dy := c.shakeAt(s.Stamps[i], seed)
	s.back.view(one, dx, dy) // as a global shutter shows it
	for _, c.Readout = range []Readout{FromTop, FromRight} {
		s.behind(got, s.at(i))
		var off, moved float64
		for line := 0; line < c.Lines(); line += 17 {
			dx, dy := c.shakeAt(s.Stamps[i]+float64(line)*c.RowTime, seed)
			s.back.view(whole, dx, dy)
			at := func(k int) int { return line*c.Width + k }
			if c.Readout == FromRight {
				at = func(k int) int { return k*c.Width + c.Width - 1 - line }
			}
			for k := range c.Width + c.Height - c.Lines() {
				off = max(off, math.Abs(float64(got.planes[0][at(k)]-whole.planes[0][at(k)])))
				moved = max(moved, math.Abs(float64(got.planes[0][at(k)]-one.planes[0][at(k)])))
			}
		}
		if off > most || moved < 10*most {
			t.Errorf("reading %d: lines are off by %.5f of full light, where the shake makes %.4f", c.Readout, off, moved)
		}
	}
}
