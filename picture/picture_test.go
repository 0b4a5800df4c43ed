package picture

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"testing"
)

// gray is a flat picture with a square of another level.
func gray(w, h int, level, square uint8, at image.Rectangle) *image.Gray {
	img := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			v := level
			if (image.Point{X: x, Y: y}).In(at) {
				v = square
			}
			img.SetGray(x, y, color.Gray{Y: v})
		}
	}
	return img
}

func TestExposureShowsTheVehicleAtEachInstant(t *testing.T) {
	t.Parallel()
	const level, vehicle = 100, 200
	e := NewExposure(gray(60, 40, level, level, image.Rectangle{}))
	if err := e.Add(gray(60, 40, level+5, vehicle, image.Rect(5, 5, 15, 15)), 0, 0); err != nil {
		t.Fatal(err)
	}
	// The second frame is seen three pixels to the right: it is moved back.
	if err := e.Add(gray(60, 40, level, vehicle-150, image.Rect(43, 20, 53, 30)), 3, 0); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		x, y int
		want uint8
	}{
		{"background keeps the rest, not the noise", 30, 35, level},
		{"first instant", 10, 10, vehicle}, {"second instant, darker than the rest", 41, 25, vehicle - 150}, {"beside it", 51, 25, level},
	} {
		if got := e.out.NRGBAAt(c.x, c.y).R; got != c.want {
			t.Errorf("%s: level at (%d, %d) = %d, want %d", c.name, c.x, c.y, got, c.want)
		}
	}
	if err := e.Add(gray(61, 40, 0, 0, image.Rectangle{}), 0, 0); err == nil {
		t.Error("Add of a frame of another size gave no error")
	}
	b, err := e.JPEG(30)
	if err != nil {
		t.Fatal(err)
	}
	img, err := jpeg.Decode(bytes.NewReader(b))
	if err != nil || img.Bounds().Dx() != 30 || img.Bounds().Dy() != 20 {
		t.Errorf("JPEG(30) is %v (%v), want 30x20", img.Bounds(), err)
	}
}

func TestStreakShowsHeightUpAndTimeAlong(t *testing.T) {
	t.Parallel()
	s := Streak{Title: "t", Rows: 50, Height: func(r float64) float64 { return r / 10 }, Gates: []float64{2},
		// Bright above the diagonal, dark below.
		Gray: func(col, row int) uint8 {
			if row > col {
				return 255
			}
			return 0
		}}
	for i := range 50 {
		s.Times = append(s.Times, float64(i)/100)
	}
	b, err := s.PNG(800, 600)
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	if img.Bounds().Dx() != 800 || img.Bounds().Dy() != 600 {
		t.Errorf("picture is %v, want 800x600", img.Bounds())
	}
	level := func(x, y int) uint32 { r, _, _, _ := img.At(x, y).RGBA(); return r >> 8 }
	if top, low := level(250, 150), level(650, 450); top < 200 || low > 60 {
		t.Errorf("early and high is %d, late and low is %d: want bright and dark", top, low)
	}
	flat := func(float64) float64 { return 2 }
	endless := func(r float64) float64 { return 1 / math.Max(0, 20-r) }
	for _, bad := range []Streak{{Rows: 50, Times: []float64{0}}, {Rows: 1, Times: []float64{0, 1}}, {Rows: 50, Times: []float64{0, 1}, Height: flat},
		{Rows: 50, Times: []float64{0, 1}, Height: endless}} {
		if _, err := bad.PNG(100, 100); err == nil {
			t.Errorf("PNG of %d columns and %d rows gave no error", len(bad.Times), bad.Rows)
		}
	}
}

func TestOverlayDrawsTheTraceOnTheFrame(t *testing.T) {
	t.Parallel()
	o := Overlay{Frame: gray(200, 300, 90, 90, image.Rectangle{}), Traces: [][]Spot{{{X: 100, Y: 280}, {X: 100, Y: 150}, {X: 100, Y: 20}}}, Here: []int{1}}
	b, err := o.PNG()
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	same := func(x, y int, c color.Color) bool {
		r, g, b, _ := img.At(x, y).RGBA()
		R, G, B, _ := c.RGBA()
		near := func(a, b uint32) bool { return a>>8+40 > b>>8 && b>>8+40 > a>>8 }
		return near(r, R) && near(g, G) && near(b, B)
	}
	if !same(100, 220, pen) {
		t.Errorf("on the trace the colour is %v, want the pen's", img.At(100, 220))
	}
	if !same(20, 20, color.Gray{Y: 90}) {
		t.Errorf("beside the trace the frame is %v, want unchanged", img.At(20, 20))
	}
	if same(115, 150, color.Gray{Y: 90}) && same(85, 150, color.Gray{Y: 90}) {
		t.Error("the spot of this frame is not marked by bars across the trace")
	}
}
