package desk

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"padside/metrology"
	"padside/motion"
)

// realFile returns a file of the real footage beside the project, or skips. Under -short, as
// beneath the race detector, drawn footage goes the same ways.
func realFile(t *testing.T, name string) string {
	t.Helper()
	if testing.Short() {
		t.Skip("follows a real clip")
	}
	path, err := filepath.Abs(filepath.Join("..", "..", "shared", "data", filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(path); err != nil {
		t.Skipf("../shared/data/%s is absent: no real footage is measured", name)
	}
	return path
}

// measuredText measures a launch file's text.
func measuredText(t *testing.T, text string) *Sheet {
	t.Helper()
	path := filepath.Join(t.TempDir(), "launch.toml")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	m, err := Measure(context.Background(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return m.Sheet
}

// says checks one answer: measured with an interval that holds the truth give or take slack, or,
// where it may be, insufficient.
func says(t *testing.T, s *Sheet, id string, truth, slack float64, silent bool) {
	t.Helper()
	for _, a := range s.Answers {
		switch {
		case a.ID != id:
			continue
		case a.Status != metrology.Measured && silent:
			t.Logf("%s: %s", id, a.Reason)
		case a.Status != metrology.Measured:
			t.Errorf("%s: %s, want %g", id, a.Reason, truth)
		case a.Interval[0]-slack > truth || a.Interval[1]+slack < truth:
			t.Errorf("%s: %g, %g to %g, want %g give or take %g", id, *a.Value, a.Interval[0], a.Interval[1], truth, slack)
		default:
			t.Logf("%s: %g, %g to %g", id, *a.Value, a.Interval[0], a.Interval[1])
		}
		return
	}
	t.Errorf("no answer %s", id)
}

// A ball in a trembling hand that is let go (../shared/data/SOURCE.md: it leaves the ceiling about
// frame 118 and reaches the floor, 2.28 m below, about frame 201), followed to the last frame: the
// tremble is not the launch, and the speed at the floor is that of the fall: 6.3 to 6.7 m/s with
// and without the drag of a light ball (derived). The mean speed between two of its places
// reaches 3.5 m/s at the least.
func TestRealTremble(t *testing.T) {
	t.Parallel()
	clip := realFile(t, "fall-120fps/ball_drop.mp4")
	text := fmt.Sprintf(realDropScale, clip, 201, "2.30(1) m")
	text = strings.NewReplacer("from = 100\n", "", "to = 201\n", "", "drop_check = true", "drop_check = true\naverage_speeds = [ { from = 142, to = 196 } ]").Replace(text)
	for name, with := range map[string]string{"drop check": text, "kind not stated": strings.Replace(text, "drop_check = true", "", 1)} {
		t.Run(name, func(t *testing.T) {
			s := measuredText(t, with)
			says(t, s, motion.FirstMotion, 118.0/120, 2.0/120, false)
			says(t, s, motion.PeakSpeed, 6.5, 0.2, false)
			const least = 3.5 // m/s: 1,600 px in 0.7 s
			for _, a := range s.Answers {
				if a.ID == motion.AverageSpeed && a.Status == metrology.Measured && a.Interval[1] < least {
					t.Errorf("a mean speed of %.3f to %.3f m/s", a.Interval[0], a.Interval[1])
				}
			}
		})
	}
}

// A ball in even flight, 79417(10) px/s by a circle fitted to its edge, at a scale of 1 mm a pixel
// that is invented: it moves in the first frame, its speed is that, and its acceleration is none.
func TestRealUniformMotion(t *testing.T) {
	t.Parallel()
	s := measuredText(t, fmt.Sprintf(`format = 1
[footage]
path = %q
[footage.time]
basis = "rate"
rate = "30000 Hz"
exposure = "20 us"
row_time = "0 us"
[scale]
kind = "rod"
on_flight_line = true
lean = "0(0) deg"
mark_uncertainty = "0.1 px"
marks = [ { at = "0 m", x = 190.0, y = 10.0 }, { at = "0.350(0) m", x = 190.0, y = 360.0 } ]
[questions]
speeds = ["40 m/s"]
gates = ["20 mm"]
`, realFile(t, "ball-30000fps")))
	says(t, s, motion.PeakSpeed, 79.417, 0, false)
	says(t, s, motion.PeakAcceleration, 0, 0, false)
	for _, a := range s.Answers {
		if a.ID != motion.PeakSpeed && a.ID != motion.PeakAcceleration && a.Status != metrology.Insufficient {
			t.Errorf("%s is %s, want insufficient: the ball moves in the first frame", a.ID, a.Status)
		}
	}
}

// A large rocket filmed by hand, seen at rest until about frame 33: however much of the clip is
// asked for and whatever box is drawn about the nose, first motion is that, or is not said. The
// rate is invented (240 Hz), and so is the scale.
func TestRealFirstMotion(t *testing.T) {
	t.Parallel()
	clip := realFile(t, "rocket-slowmo/launch.mp4")
	for name, c := range map[string]struct {
		to    int
		trace string
	}{
		"100 frames":       {100, ""},
		"215 frames":       {215, ""},
		"boxed in the air": {215, "[trace]\nframe = 100\nbox = [327, 722, 20, 40]"},
		"boxed early":      {120, "[trace]\nframe = 60\nbox = [322, 788, 26, 40]"},
	} {
		t.Run(name, func(t *testing.T) {
			s := measuredText(t, fmt.Sprintf(`format = 1
kind = "motor"
[footage]
path = %q
to = %d
[footage.time]
basis = "rate"
rate = "240 Hz"
row_time = "0 us"
[scale]
kind = "rod"
on_flight_line = true
lean = "0(2) deg"
marks = [ { at = "0 m", x = 334.0, y = 880.0 }, { at = "10.0(1) m", x = 334.0, y = 700.0 } ]
%s
[questions]
`, clip, c.to, c.trace))
			says(t, s, motion.FirstMotion, 33.0/240, 2.0/240, true)
		})
	}
}
