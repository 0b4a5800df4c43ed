package trace_test

import (
	"context"
	"math"
	"os"
	"testing"

	"padside/scene"
	"padside/trace"
)

func noseBox(tk *scene.Take, lane int) *trace.Box {
	v := tk.Scene.Vehicles[lane-1]
	a, b := tk.Scene.Truth(lane, 0, tk.Traced).Steady, tk.Scene.Truth(lane, 0, tk.Traced-v.Diameter).Steady
	d := math.Hypot(a.X-b.X, a.Y-b.Y)
	w := math.Max(10, math.Round(d*1.1))
	h := math.Max(20, math.Round(d*1.6))
	if v.Falls {
		w, h = math.Round(d*1.3), math.Round(d*1.3)
		return &trace.Box{X: math.Round(a.X - w/2), Y: math.Round(a.Y - h/2), W: w, H: h}
	}
	return &trace.Box{X: math.Round(a.X - w/2), Y: math.Round(a.Y), W: w, H: h}
}

func TestPresets(t *testing.T) {
	only := os.Getenv("PRESET")
	for _, c := range []struct {
		name string
		make func(seed uint64) *scene.Take
	}{
		{"bottle", func(s uint64) *scene.Take { return scene.BottleRocket(s, scene.BottleOptions{}) }},
		{"motor", scene.MotorRocket}, {"phone", scene.PhoneClip30}, {"burst", scene.StillsBurst}, {"ball", scene.BallDrop},
	} {
		if only != "" && only != c.name {
			continue
		}
		for seed := uint64(1); seed <= 3; seed++ {
			tk := c.make(seed)
			o := options(tk)
			o.ExpectDown = tk.Scene.Vehicles[0].Falls
			if os.Getenv("AUTO") == "" {
				o.Box = noseBox(tk, 1)
			}
			res, err := trace.Follow(context.Background(), drawn{tk.Scene}, o)
			if err != nil {
				t.Errorf("%s %d: %v", c.name, seed, err)
				continue
			}
			p := &res.Paths[0]
			e := judge(t, tk, 1, p)
			t.Logf("%s %d frames %d (%v): %d points %d dropped left %v rms %.4f worst %.4f pull %.2f meanU %.4f rest %.3f", c.name, seed, tk.Scene.Frames(), o.Box, len(p.Points), len(p.Dropped), p.LeftView, e.rms, e.worst, e.pull, e.meanU, e.rest)
			if os.Getenv("V") != "" {
				for i := 0; i < e.n; i += max(1, e.n/20) {
					q := p.Points[i]
					t.Logf("  %d y %.2f err %.4f U %.4f q %.4f size %.4f", q.Frame, q.Y, e.list[i], q.U, q.Quality, q.Size)
				}
				for _, d := range p.Dropped {
					t.Log("  ", d)
				}
			}
		}
	}
}
