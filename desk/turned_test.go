package desk

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"padside/metrology"
	"padside/motion"
	"padside/scene"
	"padside/staged"
)

// TestRowsOfATurnedCamera films a bottle with a rolling shutter by a camera on its head, whose first row is the lowest of the upright
// picture, and by one on its side, whose rows are the upright picture's columns: by the sensor's rows the answers hold the truth. Taken for
// rows of the upright picture, gates would be passed 0.6 to 1.4 ms off, in intervals of a quarter of one.
func TestRowsOfATurnedCamera(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("draws and measures two launches")
	}
	const rowTime = 1.6e-6 // a shutter that takes all of the step from frame to frame down 600 rows
	for _, c := range []struct {
		name  string
		turns int // clockwise, that put the stored picture upright
		// shutter sets what is drawn upright; late is how much later than its stamp the sensor's first row is exposed.
		shutter func(s *scene.Scene) (late float64)
	}{
		{"on its head", 2, func(s *scene.Scene) float64 {
			s.Camera.RowTime = -rowTime
			return -rowTime * float64(s.Camera.Height-1)
		}},
		{"on its side", 1, func(s *scene.Scene) float64 {
			// All of the vehicle is drawn with the column of its axis, to which its skew across is nothing.
			return -rowTime * (float64(s.Camera.Width-1) - s.Truth(1, 0, 0).Pixel.X)
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			take := scene.BottleRocket(21, scene.BottleOptions{Rate: 1000, Width: 240, Height: 600})
			late := c.shutter(take.Scene)
			known := take.Known()
			path := writeTurned(t, dir, take, c.turns, fmt.Sprintf("row_time = \"%g us\"", rowTime*1e6))
			m, err := Measure(context.Background(), path, Options{})
			if err != nil {
				t.Fatal(err)
			}
			n := 0
			for _, a := range m.Sheet.Answers {
				truth, ok := truthOf(a, known)
				if !ok || a.Status != metrology.Measured || a.ID != motion.GateCrossing && a.ID != motion.GateSpeed {
					continue
				}
				n++
				if a.ID == motion.GateCrossing {
					truth -= late // time 0 is the stamp, when the sensor's first row begins
				}
				// Twice the interval: with eight gates one in two or three may lie just outside.
				if half := a.Interval[1] - a.Interval[0]; math.Abs(*a.Value-truth) > half {
					t.Errorf("%s at %g m = %g, want %g within %g", a.ID, a.At(), *a.Value, truth, half)
				}
			}
			if n < 8 {
				t.Errorf("%d gates were answered", n)
			}
		})
	}
}

// writeTurned draws a take's stills as a camera stores them that has to be turned clockwise, and writes its launch file with one more line of
// its time base.
func writeTurned(t *testing.T, dir string, take *scene.Take, turns int, time string) string {
	t.Helper()
	stills, launch := filepath.Join(dir, "footage"), filepath.Join(dir, "launch")
	for _, d := range []string{stills, launch} {
		if err := os.MkdirAll(d, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	for i := range take.Scene.Frames() {
		m := take.Scene.Color(i).(*image.Gray)
		for range 4 - turns {
			m = quarter(m)
		}
		var b bytes.Buffer
		if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, m); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(stills, fmt.Sprintf("frame-%04d.png", i)), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	take.Scene.Camera.RowTime = 0 // stated as the sensor's, below
	text := staged.LaunchText(take, "../footage", 1)
	text = bytes.Replace(text, []byte("path = \"../footage\"\n"), fmt.Appendf(nil, "path = \"../footage\"\nrotate = %d\n", turns), 1)
	text = bytes.Replace(text, []byte(`shutter = "global"`), []byte(time), 1)
	path := filepath.Join(launch, "launch.toml")
	if err := os.WriteFile(path, text, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// quarter turns a picture clockwise.
func quarter(m *image.Gray) *image.Gray {
	w, h := m.Rect.Dx(), m.Rect.Dy()
	out := image.NewGray(image.Rect(0, 0, h, w))
	for y := range h {
		for x := range w {
			out.SetGray(h-1-y, x, m.GrayAt(x, y))
		}
	}
	return out
}
