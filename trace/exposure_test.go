package trace_test

import (
	"context"
	"testing"

	"padside/scene"
	"padside/trace"
)

// TestExposureByPictures draws launches with exposures from nothing to nine tenths of the frame interval, and follows them without a word of it: the bounds hold the truth, and are narrow
// where the vehicle moves by many pixels from frame to frame.
func TestExposureByPictures(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("draws and follows four launches")
	}
	for _, c := range []struct {
		name  string
		take  *scene.Take
		share float64
		most  float64 // width of the bounds, of the frame interval
	}{
		{"bottle, none", scene.BottleRocket(731, scene.BottleOptions{Rate: 1600}), 0, 0.2},
		{"bottle, a quarter", scene.BottleRocket(731, scene.BottleOptions{Rate: 1600}), 0.25, 0.3},
		{"bottle, nine tenths", scene.BottleRocket(732, scene.BottleOptions{Rate: 1600}), 0.9, 0.3},
		{"motor, a half", scene.MotorRocket(733), 0.5, 0.3},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := c.take.Scene
			step := s.Stamps[1] - s.Stamps[0]
			s.Camera.Exposure = c.share * step
			o := options(c.take)
			o.Exposure, o.ExposureGiven = 0, false
			res, err := trace.Follow(context.Background(), drawn{s}, o)
			if err != nil {
				t.Fatal(err)
			}
			e := res.Exposure
			t.Logf("%.3f of a frame interval, seen %.3f (%.3f to %.3f)", c.share, e.Value/step, e.Least/step, e.Most/step)
			if !e.Seen || s.Camera.Exposure < e.Least || s.Camera.Exposure > e.Most || e.Most-e.Least > c.most*step {
				t.Errorf("exposed for %.3f of a frame interval, seen %+v of %g s", c.share, e, step)
			}
			if p := &res.Paths[0]; p.Ruler.Frames > 0 {
				checkRuler(t, c.take, p)
			}
		})
	}
}

// TestExposureContradicted: a stated exposure that the blur excludes is named, and the bounds hold both; the true one is taken as stated.
func TestExposureContradicted(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("draws and follows a launch")
	}
	tk := scene.BottleRocket(734, scene.BottleOptions{Rate: 1600})
	s := tk.Scene
	s.Camera.Exposure = 0.8 / 1600
	src := keep(s)
	for _, stated := range []float64{0.8 / 1600, 0.05 / 1600} {
		o := options(tk)
		o.Exposure = stated
		res, err := trace.Follow(context.Background(), src, o)
		if err != nil {
			t.Fatal(err)
		}
		e, said := res.Exposure, false
		for _, w := range res.Warnings {
			said = said || w.Code == "exposure-contradicted"
		}
		wrong := stated != s.Camera.Exposure
		if e.Contrary != wrong || said != wrong || stated < e.Least || s.Camera.Exposure > e.Most {
			t.Errorf("stated %g s of %g s: %+v, warned %v", stated, s.Camera.Exposure, e, said)
		}
	}
}
