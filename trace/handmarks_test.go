package trace_test

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"padside/scene"
	"padside/trace"
)

// marksOf marks the nose of the first vehicle in the frames given, off by noise px along either axis.
func marksOf(s *scene.Scene, noise float64, frames ...int) []trace.Mark {
	r := rand.New(rand.NewPCG(s.Seed, 0x6d61726b))
	var out []trace.Mark
	for _, i := range frames {
		p := s.Truth(1, i, s.Vehicles[0].Length).Pixel
		out = append(out, trace.Mark{Frame: i, X: p.X + noise*r.NormFloat64(), Y: p.Y + noise*r.NormFloat64(), U: max(noise, 0.01)})
	}
	return out
}

// freed is by how much the points' places leave the truth without camera movement, relative to the first, px; rms along and across, and over what is stated.
func freed(s *scene.Scene, p *trace.Path) (rms, pull float64) {
	first := p.Points[0]
	at := func(frame int) (x, y float64) {
		tr := s.Truth(1, frame, s.Vehicles[0].Length)
		return tr.Steady.X, tr.Steady.Y
	}
	x0, y0 := at(first.Frame)
	for _, q := range p.Points[1:] {
		x, y := at(q.Frame)
		e := math.Hypot(q.X-first.X-(x-x0), q.Y-first.Y-(y-y0)) / math.Sqrt2
		rms += e * e
		pull += e * e / (q.U*q.U + first.U*first.U)
	}
	n := float64(len(p.Points) - 1)
	return math.Sqrt(rms / n), math.Sqrt(pull / n)
}

// Marks set by hand are freed of the camera's movement: by matching from frame to frame in a hand-held clip, and farther in hand-held stills, between which the
// camera moves by tens of pixels. Left in, that is what they are off by.
func TestMarksAreFreedOfShake(t *testing.T) {
	t.Parallel()
	clip := func(seed uint64) *scene.Scene { return scene.PhoneClip30(seed).Scene }
	stills := func(seed uint64) *scene.Scene {
		s := scene.StillsBurst(seed).Scene
		s.Camera.Shake = 25
		return s
	}
	for _, c := range []struct {
		name  string
		draw  func(seed uint64) *scene.Scene
		seeds []uint64
		most  float64 // px
	}{
		{"hand-held clip", clip, []uint64{2}, 0.12},
		{"hand-held stills", stills, []uint64{4, 5}, 0.25},
	} {
		for _, seed := range c.seeds {
			s := c.draw(seed)
			last := s.Frames() - 1
			for !s.Truth(1, last, s.Vehicles[0].Length).InView {
				last--
			}
			res, err := trace.Follow(context.Background(), drawn{s}, trace.Options{NoFollow: true, Marks: marksOf(s, 0, 0, last/2, last-1, last)})
			if err != nil {
				t.Fatal(err)
			}
			rms, pull := freed(s, &res.Paths[0])
			still, err := trace.Follow(context.Background(), drawn{s}, trace.Options{NoFollow: true, FixedCamera: true, Marks: marksOf(s, 0, 0, last/2, last-1, last)})
			if err != nil {
				t.Fatal(err)
			}
			left, _ := freed(s, &still.Paths[0])
			t.Logf("%s %d: %.3f px rms of %.2f, pull %.2f, %v", c.name, seed, rms, left, pull, res.Warnings)
			if rms > c.most || len(res.Warnings) > 0 {
				t.Errorf("%s, seed %d: %.2f px rms (%.2f left in), want at most %g; %v", c.name, seed, rms, left, c.most, res.Warnings)
			}
		}
	}
}

// Where no still background tells how the camera moved, that is not taken as none: the marks become as uncertain as a hand's movement makes them, and it is said.
func TestMarksWithoutBackground(t *testing.T) {
	t.Parallel()
	s := scene.StillsBurst(4).Scene
	blank := keep(s)
	for _, l := range blank.frames {
		clear(l.Pix8)
		clear(l.Pix16)
	}
	marks := marksOf(s, 0, 0, 2, 4)
	res, err := trace.Follow(context.Background(), blank, trace.Options{NoFollow: true, Marks: marks})
	if err != nil {
		t.Fatal(err)
	}
	want := 0.005 * float64(max(s.Camera.Width, s.Camera.Height))
	for _, q := range res.Paths[0].Points {
		if math.Abs(q.U-want) > 0.01*want {
			t.Errorf("frame %d: u = %.2f px, want %.2f", q.Frame, q.U, want)
		}
	}
	if len(res.Warnings) != 1 || !strings.Contains(res.Warnings[0].Message, "0, 2, 4") {
		t.Errorf("warnings %v, want one that names the frames", res.Warnings)
	}
	if _, ok := res.Marked(marks[:2]); ok {
		t.Error("marks alone are no trace that other marks could correct")
	}
	res, err = trace.Follow(context.Background(), blank, trace.Options{NoFollow: true, FixedCamera: true, Marks: marks})
	if err != nil {
		t.Fatal(err)
	}
	if u := res.Paths[0].Points[0].U; u > 0.011 || len(res.Warnings) > 0 {
		t.Errorf("a camera that stood still: u = %g px, %v; want the marks' own", u, res.Warnings)
	}
}

// A real hand-held clip whose camera tilts after the rocket: the nose marked where it is seen in four frames, 40, 100, 150 and 200, rises as it was read by hand against the
// horizon (../shared/data/SOURCE.md: 83, 184 and 310 px above frame 40), although the picture moves with it.
func TestRealMarksAreFreed(t *testing.T) {
	t.Parallel()
	const most = 5 // px: reading by hand, and the camera's turn
	var marks []trace.Mark
	for _, p := range realRocket(t).Paths[0].Points {
		switch p.Frame {
		case 40, 100, 150, 200:
			marks = append(marks, trace.Mark{Frame: p.Frame, X: p.Col, Y: p.Row, U: 1})
		}
	}
	if len(marks) != 4 {
		t.Fatalf("%d of four frames were followed", len(marks))
	}
	f := open(t, "rocket-slowmo/launch.mp4")
	res, err := trace.Follow(context.Background(), f, trace.Options{NoFollow: true, Marks: marks})
	if err != nil {
		t.Fatal(err)
	}
	p := res.Paths[0].Points
	for k, want := range []float64{83, 184, 310} {
		got, raw := p[0].Y-p[k+1].Y, marks[0].Y-marks[k+1].Y
		t.Logf("frame %d: %.1f px above frame 40, %.1f as filmed, u = %.2f px", p[k+1].Frame, got, raw, p[k+1].U)
		if math.Abs(got-want) > most {
			t.Errorf("frame %d: %.1f px above frame 40, want %.0f within %d", p[k+1].Frame, got, want, most)
		}
	}
	if len(res.Warnings) > 0 {
		t.Errorf("%v, want none", res.Warnings)
	}
}
