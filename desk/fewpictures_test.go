package desk

import (
	"context"
	"fmt"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"padside/metrology"
	"padside/motion"
	"padside/scene"
	"padside/staged"
	"padside/timebase"
)

// fewStills draws a rocket pulled evenly that is in flight already in the first of n hand-held stills, 20 a second, between which the camera moves by some 20 px, and lays them out
// with their times listed and the nose marked by hand to 1 px; extra is put under [questions].
func fewStills(t *testing.T, seed uint64, n int, extra string) (*scene.Take, string) {
	t.Helper()
	const hz, pull, before = 20.0, 40.0, 0.12 // s in flight at the first still
	take := scene.StillsBurst(seed)
	s := take.Scene
	v := &s.Vehicles[0]
	v.Motion, v.Exhaust, v.Start = evenPull(pull), scene.Exhaust{}, -before
	s.Camera.Exposure, s.Camera.Shake = 1./8000, 20
	s.Stamps = scene.Rate(n, hz)
	take.Basis, take.Hz, take.Speeds, take.Gates, take.Conditions = timebase.List, hz, nil, nil, nil
	path, err := staged.Write(context.Background(), t.TempDir(), "few", take, seed, nil)
	if err != nil {
		t.Fatal(err)
	}
	rewrite(t, path, `basis = "list"`, fmt.Sprintf("basis = \"list\"\ntimes = [%s]", strings.Trim(strings.Join(strings.Fields(fmt.Sprint(s.Stamps)), ", "), "[]")))
	markNose(t, path, take, seed)
	text, err := os.ReadFile(path)
	if err == nil { // markNose writes no uncertainty: a person would state it
		err = os.WriteFile(path, regexp.MustCompile(`(frame = \d+, )`).ReplaceAll(text, []byte(`${1}u = "1 px", `)), 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
	rewrite(t, path, "[questions]\n", "[questions]\n"+extra+"\n")
	return take, path
}

// Two or three stills with known times and heights answer: no rest is seen and no motion can be fitted. Drawn stills with real files, hand-held, marked by hand: the
// intervals hold the truth, also of what is given unasked, and are as narrow as marks good to a pixel make them.
func TestFewPicturesAnswer(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		seed    uint64
		stills  int
		ask     string
		answers int
	}{
		{11, 3, "average_speeds = [ { from = 0, to = 2 } ]", 3},
		{12, 3, "", 2},
		{13, 2, "", 1},
	} {
		t.Run(fmt.Sprint(c.seed), func(t *testing.T) {
			t.Parallel()
			if testing.Short() && c.stills > 2 {
				t.Skip("two stills show races as well")
			}
			take, path := fewStills(t, c.seed, c.stills, c.ask)
			m, err := Measure(context.Background(), path, Options{})
			if err != nil {
				t.Fatal(err)
			}
			found := 0
			for i, a := range m.Sheet.Answers {
				if a.ID != motion.AverageSpeed {
					if a.Status == metrology.Measured {
						t.Errorf("%s = %g of %d pictures in flight", a.ID, *a.Value, c.stills)
					}
					continue
				}
				found++
				if a.Status != metrology.Measured {
					t.Fatalf("frames %d to %d: %s", *a.FromFrame, *a.ToFrame, a.Reason)
				}
				at := func(frame int) scene.Truth { return take.Scene.Truth(1, frame, take.Scene.Vehicles[0].Length) }
				p, q := at(*a.FromFrame), at(*a.ToFrame)
				truth := (q.Height - p.Height) / (q.T - p.T)
				t.Logf("frames %d to %d: %.3f m/s, %.3f to %.3f, truth %.3f; %v", *a.FromFrame, *a.ToFrame, *a.Value, a.Interval[0], a.Interval[1], truth, a.Budget)
				if truth < a.Interval[0] || truth > a.Interval[1] {
					t.Errorf("frames %d to %d: %.3f to %.3f m/s leaves %.3f out", *a.FromFrame, *a.ToFrame, a.Interval[0], a.Interval[1], truth)
				}
				if width := (a.Interval[1] - a.Interval[0]) / truth; width > 0.12 {
					t.Errorf("frames %d to %d: an interval of %.0f %%", *a.FromFrame, *a.ToFrame, 100*width)
				}
				if len(m.Lanes[0].Motion.Draws[i]) < 4096 {
					t.Error("no draws beside the answer")
				}
			}
			if found != c.answers {
				t.Errorf("%d mean speeds, want %d", found, c.answers)
			}
			if err := m.Unanswered(); err != nil {
				t.Errorf("%v, though there are answers", err)
			}
			if _, err := m.files(); err != nil {
				t.Errorf("its results cannot be kept: %v", err)
			}
		})
	}
}

// A frame that the person left out has no place; one that there is none of is refused before anything is read.
func TestFewPicturesWithoutPlace(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("draws and measures stills")
	}
	_, path := fewStills(t, 11, 4, "average_speeds = [ { from = 0, to = 2 } ]")
	unmark(t, path, 2)
	m, err := Measure(context.Background(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range m.Sheet.Answers {
		if a.ID == motion.AverageSpeed && *a.ToFrame == 2 && (a.Status != metrology.Insufficient || !strings.Contains(a.Reason, "frame 2")) {
			t.Errorf("%+v, want insufficient for frame 2", a)
		}
	}
	rewrite(t, path, "to = 2 }", "to = 4 }")
	if _, err := Measure(context.Background(), path, Options{}); err == nil || !strings.Contains(err.Error(), "frame 4 is beyond the footage, whose last frame is 3") {
		t.Errorf("%v, want frame 4 refused", err)
	}
	rewrite(t, path, "to = 4 }", "to = 3 }")
	rewrite(t, path, "\n[footage.time]", "to = 2\n\n[footage.time]")
	if _, err := Measure(context.Background(), path, Options{}); err == nil || !strings.Contains(err.Error(), "frame 3 is not among frames 0 to 2") {
		t.Errorf("%v, want frame 3 refused", err)
	}
}

// What real clips said of themselves is held against their places (../shared/data/SOURCE.md): a ball in uniform motion, 30000 frames a second, is not pulled at all.
func TestUniformMotionPullsNothing(t *testing.T) {
	t.Parallel()
	s := measureReal(t, "ball-30000fps", `[footage.time]
basis = "rate"
rate = "30000 Hz"
exposure = "20 us"
[scale]
kind = "rod"
marks = [ { at = "0 m", x = 190.0, y = 20.0 }, { at = "0.02 m", x = 190.0, y = 360.0 } ]
rod_range = "1.00(1) m"
flight_range = "1.00(1) m"
[questions]
average_speeds = [ { from = 0, to = 14 } ]
`)
	// 79417(10) px/s by a circle fitted to the ball's edge; 340 px are 20 mm
	const truth = 79417. / 340 * 0.02
	for _, a := range s.Answers {
		switch {
		case a.ID == motion.AverageSpeed:
			if a.Interval == nil || a.Interval[0] > truth || a.Interval[1] < truth {
				t.Errorf("%+v, want %.3f m/s", a, truth)
			}
		case a.ID == motion.PeakAcceleration && a.Status == metrology.Measured && math.Abs(*a.Value) > 1000:
			t.Errorf("a ball in uniform motion is pulled by %.0f m/s2", *a.Value)
		}
	}
}

// unmark takes the mark of a frame away.
func unmark(t *testing.T, path string, frame int) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err == nil {
		err = os.WriteFile(path, regexp.MustCompile(fmt.Sprintf(`\{ frame = %d, [^}]*\}, `, frame)).ReplaceAll(text, nil), 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// measureReal measures footage that lies beside the project, or skips; text follows the path of the footage.
func measureReal(t *testing.T, name, text string) *Sheet {
	t.Helper()
	return measuredText(t, fmt.Sprintf("format = 1\n[footage]\npath = %q\n", realFile(t, name))+text)
}
