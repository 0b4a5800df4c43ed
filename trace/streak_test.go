package trace

import (
	"math"
	"testing"

	"padside/camera"
	"padside/footage"
	"padside/register"
)

// A hand follows a vehicle, so that it stays in the picture while the field behind it sinks, and
// the lane was found by looking backward from the flight: every column of the streak is right side
// up, shows the vehicle at its place, also above the picture at rest, and where the picture ended.
func TestStreakOfAHand(t *testing.T) {
	t.Parallel()
	const w, h, frames, x, rest = 60, 400, 50, 30, 320
	field := func(y float64) uint8 { return uint8(80 + 20*math.Sin(y/7)) } // of the picture at rest, below 0 what lies above it
	up := func(i int) float64 { return max(0, float64(i-8)) * 12 }         // px that the vehicle has gone
	tilt := func(i int) float64 { return max(0, float64(i-10)) * 9 }       // px that the camera's aim has gone
	show := func(i int) *footage.Luma {
		pic := &footage.Luma{Width: w, Height: h, Pix8: make([]uint8, w*h)}
		nose := rest - up(i) + tilt(i)
		for y := range h {
			for col := range w {
				v := field(float64(y) - tilt(i))
				if math.Abs(float64(y)-nose) <= 4 && math.Abs(float64(col)-x) <= 3 {
					v = 250
				}
				pic.Pix8[y*w+col] = v
			}
		}
		return pic
	}
	still := &still{noise: 1}
	still.add(show(0))
	l := &lane{still: still, patch: register.Area{X: x - 4, Y: rest - 4, W: 9, H: 9}, ahead: [2]float64{0, -1}, backward: true,
		camera: func(i int, _, _ float64) (float64, float64) { return 0, tilt(i) }}
	var points []Point
	for i := frames - 1; i >= 0; i-- {
		s := sighting{frame: i, x: x, y: rest - up(i) + tilt(i)}
		l.sights = append(l.sights, s)
		l.picture(&s, show(i))
	}
	for i := range frames {
		points = append(points, Point{Frame: i, X: x, Y: rest - up(i)})
	}
	s := l.columns.streak(points, camera.FlightLine{Rest: camera.Pixel{X: x, Y: rest}, Uy: -1})
	if s == nil || len(s.Frames) != frames || len(s.Pix) != frames*s.Rows {
		t.Fatalf("%+v", s)
	}
	at := func(k int, along float64) uint8 {
		row := int(math.Round((along - s.S0) / s.Step))
		if row < 0 || row >= s.Rows {
			return StreakUnseen
		}
		return s.Pix[k*s.Rows+row]
	}
	for k, i := range s.Frames {
		if got := at(k, up(i)); got < 200 { // at rest the band's mean
			t.Errorf("frame %d: the vehicle's place shows level %d", i, got)
		}
		for _, along := range []float64{-60, 60, 160, 400} {
			want := field(rest - along)
			switch y := rest - along + tilt(i); {
			case math.Abs(along-up(i)) < 12:
				continue
			case y < 0 || y > h-1:
				want = StreakUnseen
			}
			if got := at(k, along); math.Abs(float64(got)-float64(want)) > 6 { // a row off, at the field's steepest
				t.Errorf("frame %d, %g px up: level %d, want %d", i, along, got, want)
			}
		}
	}
	if top := s.S0 + s.Step*float64(s.Rows); top < up(frames-1) {
		t.Errorf("the streak ends %g px up, the vehicle %g", top, up(frames-1))
	}
}

// What is cut out of a streak keeps its places.
func TestStreakCrop(t *testing.T) {
	t.Parallel()
	s := &Streak{Frames: []int{3, 4}, Rows: 4, S0: -2, Step: 2, Pix: []uint8{0, 1, 2, 3, 10, 11, 12, 13}}
	c := s.Crop(1, 3)
	if c.Rows != 2 || c.S0 != 0 || string(c.Pix) != string([]uint8{1, 2, 11, 12}) {
		t.Errorf("%+v", c)
	}
	if s.Crop(2, 3) != nil || s.Crop(-5, 9) != s {
		t.Error("the whole is the streak itself, a row is nothing")
	}
}
