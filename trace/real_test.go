package trace_test

import (
	"context"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"padside/footage"
	"padside/trace"
)

// open opens real footage that lies beside the project, or skips.
func open(t *testing.T, name string) *footage.Footage {
	t.Helper()
	path := filepath.Join("..", "..", "shared", "data", filepath.FromSlash(name))
	if _, err := os.Stat(path); err != nil {
		t.Skipf("../shared/data/%s is absent: no real footage is followed", name)
	}
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("ffmpeg is not installed")
	}
	f, err := footage.Open(context.Background(), path, footage.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = f.Close() })
	return f
}

// rocket is what following the real large rocket gives, once for all tests that look at it. It is
// read and never changed.
var rocket struct {
	once sync.Once
	seen *trace.Result
	err  error
}

// realRocket follows the rocket's flight, frames 0 to 214, unless that was done.
func realRocket(t *testing.T) *trace.Result {
	t.Helper()
	f := open(t, "rocket-slowmo/launch.mp4")
	rocket.once.Do(func() {
		rocket.seen, rocket.err = trace.Follow(context.Background(), f, trace.Options{To: 215})
	})
	if rocket.err != nil {
		t.Fatal(rocket.err)
	}
	return rocket.seen
}

// A real large rocket, filmed by hand in slow motion; the camera tilts after it. The heights of the nose above
// frame 40's, against the horizon, were read by hand.
func TestRealRocket(t *testing.T) {
	t.Parallel()
	const most = 4 // px: what reading by hand is good for, and the camera's tilt
	res := realRocket(t)
	q := res.Paths[0]
	t.Logf("line %+v, %d points from frame %d, length %.0f", q.Line, len(q.Points), q.Points[0].Frame, q.Length)
	y := map[int]float64{}
	for _, p := range res.Paths[0].Points {
		y[p.Frame] = p.Y
	}
	for frame, want := range map[int]float64{100: 83, 150: 184, 200: 310} {
		if got := y[40] - y[frame]; y[frame] == 0 || math.Abs(got-want) > most {
			t.Errorf("frame %d: %.1f px above frame 40, want %.0f within %d", frame, got, want, most)
		}
	}
	// The nose rises 28 px from rest to frame 60, read by hand beside the tents. Smoke and rail draw the coarse search off at rest: such a place is left
	// out.
	for _, p := range q.Points {
		if got := p.Y - y[60]; p.Frame <= 30 && math.Abs(got-28) > most {
			t.Errorf("frame %d, at rest: %.1f px below frame 60, want 28 within %d, or no place", p.Frame, got, most)
		}
	}
}

// A ball flying evenly before a bright background, 30000 frames a second: what departs from a straight line is noise.
func TestRealBall(t *testing.T) {
	t.Parallel()
	const most = 0.02 // px; fitting a circle to the ball's edge reached 0.0055
	f := open(t, "ball-30000fps")
	res, err := trace.Follow(context.Background(), f, trace.Options{FrameTime: func(i int) float64 { return float64(i) / 30000 }, Exposure: 20e-6, ExposureGiven: true})
	if err != nil {
		t.Fatal(err)
	}
	p := res.Paths[0].Points
	var n, sx, sy, sxx, sxy float64
	for _, q := range p {
		x := float64(q.Frame)
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+q.Y, sxx+x*x, sxy+x*q.Y
	}
	if n != 15 {
		t.Fatalf("%g frames followed, want 15", n)
	}
	b := (n*sxy - sx*sy) / (n*sxx - sx*sx)
	var ss float64
	for _, q := range p {
		e := q.Y - (sy-b*sx)/n - b*float64(q.Frame)
		ss += e * e
	}
	rms := math.Sqrt(ss / (n - 2))
	t.Logf("residual %.4f px, %.0f px/s", rms, b*30000)
	if rms > most {
		t.Errorf("residual from a straight line %.4f px, want at most %g", rms, most)
	}
	// 79417(10) px/s by a circle fitted to the edge; a reflection on the ball creeps as it comes nearer.
	if math.Abs(b*30000/79417-1) > 0.002 {
		t.Errorf("%.0f px/s, want 79417 within 0.2 %%", b*30000)
	}
}

// A red ball let go by a hand, 120 frames a second. The rows of the ball's middle, as filmed, were read by hand; the traced point may lie
// beside it, by as much throughout but for the ball's size, which shrinks by a quarter on its way.
func TestRealDrop(t *testing.T) {
	t.Parallel()
	const most = 16 // px: 2 of reading, and a point some px off the middle moves as the ball shrinks and the coarse search drifts
	f := open(t, "fall-120fps/ball_drop.mp4")
	read := map[int]float64{117: 73, 125: 87, 134: 140, 140: 197, 160: 508, 180: 984, 200: 1590}
	for name, o := range map[string]trace.Options{
		"by itself":       {From: 100, To: 202},
		"boxed in flight": {From: 105, To: 202, Frame: 150, Box: &trace.Box{X: 24, Y: 316, W: 34, H: 50}},
		"boxed in hand":   {From: 105, To: 202, Frame: 115, Box: &trace.Box{X: 12, Y: 55, W: 29, H: 36}},
	} {
		t.Run(name, func(t *testing.T) {
			o.ExpectDown = true
			res, err := trace.Follow(context.Background(), f, o)
			if err != nil {
				t.Fatal(err)
			}
			p := res.Paths[0].Points
			at := map[int]trace.Point{}
			for _, q := range p {
				at[q.Frame] = q
			}
			if len(p) < 93 || p[0].Frame > 117 {
				t.Errorf("%d points from frame %d, want 93 or more from rest", len(p), p[0].Frame)
			}
			base := at[140].Row - read[140]
			for frame, row := range read {
				q, ok := at[frame]
				if !ok {
					continue // lost frames are counted above
				}
				if d := q.Row - row - base; math.Abs(d) > most {
					t.Errorf("frame %d: row %.1f, %.1f px from the ball, want at most %d", frame, q.Row, d, most)
				}
			}
		})
	}
}

// The streak of that flight is right side up from its first column on and holds the rocket: the field below is darker than the sky above, and at the
// trace's place stands something darker than the sky beside it.
func TestRealStreak(t *testing.T) {
	t.Parallel()
	res := realRocket(t)
	p := &res.Paths[0]
	along := map[int]float64{}
	for _, q := range p.Points {
		along[q.Frame] = (q.X-p.Line.Rest.X)*p.Line.Ux + (q.Y-p.Line.Rest.Y)*p.Line.Uy
	}
	s := p.Streak
	mean := func(col int, from, to float64) float64 {
		var sum, n float64
		for r := range s.Rows {
			if at := s.S0 + s.Step*float64(r); at >= from && at < to && s.Pix[col*s.Rows+r] != trace.StreakUnseen {
				sum, n = sum+float64(s.Pix[col*s.Rows+r]), n+1
			}
		}
		return sum / n
	}
	lost := 0
	for k, frame := range s.Frames {
		if field, sky := mean(k, -400, -150), mean(k, 520, 800); !(field < 0.8*sky) {
			t.Errorf("frame %d: the field is of level %.0f, the sky above it of %.0f", frame, field, sky)
		}
		if at := along[frame]; at > 40 && !(mean(k, at-4, at+4) < mean(k, at+25, at+45)-15) {
			lost++
		}
	}
	if n := len(s.Frames); n < 150 || lost > n/20 {
		t.Errorf("of %d columns %d do not show the rocket at its place", n, lost)
	}
}
