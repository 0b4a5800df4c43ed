package trace_test

import (
	"context"
	"math"
	"testing"

	"padside/footage"
	"padside/scene"
	"padside/trace"
)

// drawn is a scene as a source of frames.
type drawn struct{ s *scene.Scene }

func (d drawn) Size() (int, int) { return d.s.Camera.Width, d.s.Camera.Height }
func (d drawn) Len() int         { return d.s.Frames() }
func (d drawn) Read(ctx context.Context, from, to int, visit func(footage.Frame) error) error {
	for i := from; i < to; i++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := visit(footage.Frame{Index: i, Luma: d.s.Frame(i)}); err != nil {
			return err
		}
	}
	return nil
}

// options are what a launch file would say of a take.
func options(t *scene.Take) trace.Options {
	s := t.Scene
	return trace.Options{
		FrameTime: func(i int) float64 { return s.Stamps[i] }, Exposure: s.Camera.Exposure,
	}
}

// errors compares a path with the truth about the point of the vehicle that is along metres
// from its tail: the error along the flight line, less its mean at rest, and pulls.
type errors struct {
	n                int
	rms, worst, pull float64
	rest             float64
	cover            float64
	meanU            float64
	list             []float64
	frames           []int
}

func judge(t *testing.T, tk *scene.Take, lane int, p *trace.Path) errors {
	t.Helper()
	s := tk.Scene
	// The traced point is some way below the nose: find where along the vehicle by its place at rest.
	along := alongOf(tk, lane, p)
	var e errors
	var rest []float64
	var errs, us []float64
	for _, q := range p.Points {
		tr := s.Truth(lane, q.Frame, along)
		dx, dy := q.X-tr.Steady.X, q.Y-tr.Steady.Y
		d := dx*p.Line.Ux + dy*p.Line.Uy
		errs, us = append(errs, d), append(us, q.U)
		if tr.Height == 0 || math.Abs(tr.Height) < 1e-5 {
			rest = append(rest, d)
		}
		e.frames = append(e.frames, q.Frame)
	}
	for _, d := range rest {
		e.rest += d / float64(len(rest))
	}
	var within float64
	for i, d := range errs {
		d -= e.rest
		e.list = append(e.list, d)
		e.n++
		e.rms += d * d
		e.worst = max(e.worst, math.Abs(d))
		e.pull += d * d / us[i] / us[i]
		e.meanU += us[i]
		if math.Abs(d) < 1.96*us[i] {
			within++
		}
	}
	n := float64(e.n)
	e.rms, e.pull, e.cover, e.meanU = math.Sqrt(e.rms/n), math.Sqrt(e.pull/n), within/n, e.meanU/n
	return e
}

// alongOf solves for the height on the vehicle that is seen where the trace rests.
func alongOf(tk *scene.Take, lane int, p *trace.Path) float64 {
	s := tk.Scene
	at := func(along float64) float64 {
		tr := s.Truth(lane, 0, along)
		return (tr.Steady.X-p.Line.Rest.X)*p.Line.Ux + (tr.Steady.Y-p.Line.Rest.Y)*p.Line.Uy
	}
	// The picture of the axis is nearly linear: secant steps.
	x0, x1 := 0.0, s.Vehicles[lane-1].Length
	for range 30 {
		f0, f1 := at(x0), at(x1)
		if math.Abs(f1-f0) < 1e-9 {
			break
		}
		x0, x1 = x1, x1-f1*(x1-x0)/(f1-f0)
	}
	return x1
}

func TestFollowBox(t *testing.T) {
	for seed := uint64(0); seed < 6; seed++ {
		tk := scene.BottleRocket(seed+1, scene.BottleOptions{})
		nose := tk.Scene.Truth(1, 0, tk.Traced).Steady
		o := options(tk)
		o.Box = &trace.Box{X: math.Round(nose.X) - 20, Y: math.Round(nose.Y) + 2, W: 40, H: 56}
		res, err := trace.Follow(context.Background(), drawn{tk.Scene}, o)
		if err != nil {
			t.Error(err)
			continue
		}
		p := &res.Paths[0]
		e := judge(t, tk, 1, p)
		t.Logf("seed %d frames %d: %d points %d dropped left %v rms %.4f worst %.4f pull %.2f meanU %.4f rest %.3f", seed, tk.Scene.Frames(), len(p.Points), len(p.Dropped), p.LeftView, e.rms, e.worst, e.pull, e.meanU, e.rest)
		for i := 0; i < e.n; i += max(1, e.n/16) {
			q := p.Points[i]
			t.Logf("  %d y %.2f err %.4f U %.4f q %.4f size %.4f", q.Frame, q.Y, e.list[i], q.U, q.Quality, q.Size)
		}
		for _, d := range p.Dropped {
			t.Log(d)
		}
	}
}
