package trace_test

import (
	"context"
	"errors"
	"math"
	"reflect"
	"runtime"
	"sync"
	"testing"
	"time"

	"padside/fault"
	"padside/footage"
	"padside/scene"
	"padside/trace"
)

// drawn is a scene as a source of frames.
type drawn struct{ s *scene.Scene }

// kept is a source whose frames have been drawn.
type kept struct {
	drawn
	frames []*footage.Luma
}

func (k *kept) Read(ctx context.Context, from, to int, visit func(footage.Frame) error) error {
	for i := from; i < to; i++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := visit(footage.Frame{Index: i, Luma: k.frames[i]}); err != nil {
			return err
		}
	}
	return nil
}

func keep(s *scene.Scene) *kept {
	k := &kept{drawn: drawn{s}}
	for i := range s.Frames() {
		k.frames = append(k.frames, s.Frame(i))
	}
	return k
}

// phone is a take that several tests share, drawn once.
var phone = sync.OnceValues(func() (*scene.Take, *kept) {
	tk := scene.PhoneClip30(2)
	return tk, keep(tk.Scene)
})

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
		FrameTime: func(i int) float64 { return s.Stamps[i] }, Exposure: s.Camera.Exposure, ExposureGiven: true,
		ExpectDown: s.Vehicles[0].Falls,
	}
}

// verdict is how a path compares with the truth: errors along the flight line less their mean at rest, px.
type verdict struct {
	n          int
	rms, worst float64
	pull       float64 // root mean square of error over stated uncertainty
}

// judge compares a path with the truth about the point of the vehicle that is seen where the trace rests, as far before its axis as it seems to fly.
func judge(tk *scene.Take, lane int, p *trace.Path) verdict {
	seen := followed(tk, lane, p)
	var errs, us []float64
	var rest, n float64
	for _, q := range p.Points {
		tr := seen.Truth(q.Frame)
		d := (q.X-tr.Steady.X)*p.Line.Ux + (q.Y-tr.Steady.Y)*p.Line.Uy
		errs, us = append(errs, d), append(us, q.Total())
		if math.Abs(tr.Height) < 1e-5 {
			rest += d
			n++
		}
	}
	v := verdict{n: len(errs)}
	for i, d := range errs {
		d -= rest / max(1, n)
		v.rms += d * d
		v.worst = max(v.worst, math.Abs(d))
		v.pull += d * d / us[i] / us[i]
	}
	v.rms, v.pull = math.Sqrt(v.rms/float64(v.n)), math.Sqrt(v.pull/float64(v.n))
	return v
}

// followed is the point of the vehicle that a path follows.
func followed(tk *scene.Take, lane int, p *trace.Path) scene.Point {
	var frames []int
	var ways []float64
	for _, q := range p.Points {
		frames = append(frames, q.Frame)
		ways = append(ways, (q.X-p.Line.Rest.X)*p.Line.Ux+(q.Y-p.Line.Rest.Y)*p.Line.Uy)
	}
	return tk.Scene.Followed(lane, p.Line, frames, ways)
}

// Errors on drawn launches, found and followed without help, px. Edges of the vehicle before another background,
// sharp edges that the sampling cannot hold, and size leave some hundredths of a pixel (docs/measured.md).
const (
	mostRMS   = 0.1
	mostWorst = 0.3
	mostPull  = 2.5 // errors that last over many frames make this scatter far from 1
	// turning is how many times that a ball errs: as it falls past the camera it is seen from below, then from above, and the seam that it carries moves against its outline by
	// its radius times the change of the angle, here 4 px; what is followed of both moves as their mean, which is not one point of the ball.
	turning = 2.5
)

func TestFollow(t *testing.T) {
	t.Parallel()
	hand, _ := phone()
	for _, c := range []struct {
		name string
		take *scene.Take
		seen int  // at least so many frames
		tube bool // its barrel is to be measured
	}{
		{"bottle rocket, 1000 to 2000 Hz", scene.BottleRocket(2, scene.BottleOptions{}), 140, true},
		{"motor rocket, 240 Hz", scene.MotorRocket(1), 140, true},
		{"phone, 30 Hz, hand-held", hand, 38, false},
		{"burst of stills", scene.StillsBurst(2), 10, false},
		{"burst of stills that was matched a third of the vehicle too low", scene.StillsBurst(3005), 9, false},
		{"ball drop", scene.BallDrop(3), 130, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			var src trace.Source = drawn{c.take.Scene}
			if tk, k := phone(); tk == c.take {
				src = k
			}
			res, err := trace.Follow(context.Background(), src, options(c.take))
			if err != nil {
				t.Fatal(err)
			}
			p := &res.Paths[0]
			v := judge(c.take, 1, p)
			t.Logf("%d points, %d dropped: rms %.4f worst %.4f px, pull %.2f", v.n, len(p.Dropped), v.rms, v.worst, v.pull)
			if v.n < c.seen {
				t.Errorf("%d points, want %d or more; dropped: %v", v.n, c.seen, p.Dropped)
			}
			loose := 1.0
			if c.take.Scene.Vehicles[0].Falls {
				loose = turning
			}
			if v.rms > loose*mostRMS || v.worst > loose*mostWorst || v.pull > mostPull {
				t.Errorf("errors rms %.4f, worst %.4f px, pull %.2f; want at most %g, %g, %g", v.rms, v.worst, v.pull, loose*mostRMS, loose*mostWorst, mostPull)
			}
			if c.tube {
				checkRuler(t, c.take, p)
			} else if p.Ruler.Frames > 0 { // none need be seen, but one that is must be right
				checkRuler(t, c.take, p)
			}
			if s := p.Streak; s == nil || len(s.Pix) != len(s.Frames)*s.Rows || len(s.Frames) < c.seen {
				t.Error("the streak has not a column per traced frame")
			}
		})
	}
}

func TestLanes(t *testing.T) {
	t.Parallel()
	tk := scene.BottleRocket(2, scene.BottleOptions{Lanes: 2, Width: 360, Height: 900})
	o := options(tk)
	o.Lanes = 2
	res, err := trace.Follow(context.Background(), drawn{tk.Scene}, o)
	if err != nil {
		t.Fatal(err)
	}
	if len(res.Paths) != 2 {
		t.Fatalf("%d paths, want 2", len(res.Paths))
	}
	for i := range res.Paths {
		v := judge(tk, i+1, &res.Paths[i])
		t.Logf("lane %d: %+v", i+1, v)
		if res.Paths[i].Lane != i+1 || v.worst > mostWorst {
			t.Errorf("lane %d: %+v, want errors below %g px", res.Paths[i].Lane, v, mostWorst)
		}
	}
}

// small is a short launch in a small picture, filmed by a camera that is not quite still: under the race detector others take too long.
var small = sync.OnceValues(func() (*scene.Take, *kept) {
	const rate = 400
	tk := scene.BottleRocket(5, scene.BottleOptions{Rate: rate, Frames: 48, Width: 96, Height: 240, Shake: 0.4})
	tk.Scene.Vehicles[0].Start = 12. / rate
	return tk, keep(tk.Scene)
})

// TestWorkersDoNotMatter: one worker and several give the same result, bit for bit.
func TestWorkersDoNotMatter(t *testing.T) {
	t.Parallel()
	for name, take := range map[string]func() (*scene.Take, *kept){"small": small, "phone": phone} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			if name == "phone" && testing.Short() {
				t.Skip("the small launch shows races as well")
			}
			tk, src := take()
			o := options(tk)
			var first *trace.Result
			for _, o.Workers = range []int{1, 4} {
				res, err := trace.Follow(context.Background(), src, o)
				if err != nil {
					t.Fatal(err)
				}
				if first == nil {
					first = res
					if p := &res.Paths[0]; !p.LeftView || len(p.Points) < 36 {
						t.Errorf("%d points, left the view: %v, want 36 or more until it leaves", len(p.Points), p.LeftView)
					}
				} else if !reflect.DeepEqual(first, res) {
					t.Error("4 workers give another result than 1")
				}
			}
		})
	}
}

// TestCancelledFollowLeavesNothing: wherever following is cancelled, it returns soon, with the reason, and nothing of it goes on.
// Not parallel: it counts what the whole program runs.
func TestCancelledFollowLeavesNothing(t *testing.T) {
	tk, src := small()
	before := runtime.NumGoroutine()
	for _, at := range []int{0, 20, 30} { // at rest, while the vehicle is looked for, and in flight
		ctx, cancel := context.WithCancel(context.Background())
		o := options(tk)
		o.Workers = 4
		o.Progress = func(frame int) {
			if frame == at {
				cancel()
			}
		}
		if res, err := trace.Follow(ctx, src, o); !errors.Is(err, context.Canceled) {
			t.Errorf("cancelled at frame %d: %v, %v", at, res != nil, err)
		}
		// A goroutine that has told its end is counted until it is gone.
		now := runtime.NumGoroutine()
		for deadline := time.Now().Add(10 * time.Second); now > before && time.Now().Before(deadline); now = runtime.NumGoroutine() {
			time.Sleep(time.Millisecond)
		}
		if now > before {
			t.Errorf("cancelled at frame %d: %d goroutines before, %d after", at, before, now)
		}
	}
}

func TestMarksWin(t *testing.T) {
	t.Parallel()
	tk, src := phone()
	o := options(tk)
	o.Marks = []trace.Mark{{Frame: 25, X: 365, Y: 900}}
	res, err := trace.Follow(context.Background(), src, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range res.Paths[0].Points {
		if p.Frame == 25 && (p.Source != trace.SourceMarked || p.Row != 900 || p.U < 0.5) {
			t.Errorf("frame 25 is %+v, want the mark", p)
		}
		if p.Frame != 25 && p.Source != "followed" {
			t.Errorf("frame %d is %s, want followed", p.Frame, p.Source)
		}
	}
	o = trace.Options{NoFollow: true, Marks: []trace.Mark{{Frame: 3, X: 10, Y: 50}, {Frame: 1, X: 10, Y: 90}}}
	res, err = trace.Follow(context.Background(), src, o)
	if err != nil {
		t.Fatal(err)
	}
	if p := res.Paths[0]; len(p.Points) != 2 || p.Points[0].Frame != 1 || p.Line.Uy > -0.9999 {
		t.Errorf("marks alone make %+v", p)
	}
}

func TestRefuses(t *testing.T) {
	t.Parallel()
	tk, _ := small()
	still := scene.BottleRocket(5, scene.BottleOptions{Rate: 400, Frames: 20, Width: 96, Height: 240})
	still.Scene.Vehicles[0].Start = 1e6
	for _, c := range []struct {
		name string
		take *scene.Take
		o    trace.Options
		kind fault.Kind
	}{
		{"box outside", tk, trace.Options{Box: &trace.Box{X: 700, Y: 10, W: 40, H: 40}}, fault.Request},
		{"box of nothing", tk, trace.Options{Box: &trace.Box{X: 10, Y: 10, W: 0, H: 40}}, fault.Request},
		{"box not a number", tk, trace.Options{Box: &trace.Box{X: math.NaN(), Y: 10, W: 40, H: 40}}, fault.Request},
		{"no frames", tk, trace.Options{From: 900}, fault.Request},
		{"mark outside", tk, trace.Options{Marks: []trace.Mark{{Frame: 1, X: -5, Y: 3}}}, fault.Request},
		{"no marks", tk, trace.Options{NoFollow: true}, fault.Request},
		{"nothing moves", still, trace.Options{}, fault.NoAnswer},
		{"what the box holds rests", still, trace.Options{Box: &trace.Box{X: 40, Y: 190, W: 16, H: 24}}, fault.NoAnswer},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			_, err := trace.Follow(context.Background(), drawn{c.take.Scene}, c.o)
			var f *fault.Error
			if !errors.As(err, &f) || f.Kind != c.kind || f.Hint == "" {
				t.Errorf("error %v, want one of kind %d with a hint", err, c.kind)
			}
		})
	}
}

// BenchmarkFollow follows a launch whose frames are at hand: what tracing costs beside decoding, per frame.
func BenchmarkFollow(b *testing.B) {
	tk := scene.BottleRocket(2, scene.BottleOptions{Width: 570, Height: 1920})
	src := keep(tk.Scene)
	for b.Loop() {
		if _, err := trace.Follow(context.Background(), src, options(tk)); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N*src.Len()), "ms/frame")
}

// TestFallFromNearBy follows a ball that grows and fades before what lies behind it, filmed from near by by a phone that reads its rows in turn.
func TestFallFromNearBy(t *testing.T) {
	t.Parallel()
	tk := scene.BallDropNear(5003)
	res, err := trace.Follow(context.Background(), drawn{tk.Scene}, options(tk))
	if err != nil {
		t.Fatal(err)
	}
	const most = 2.0 // px: places that were only predicted for some frames lie beside the rest by half of that
	p := &res.Paths[0]
	v := judge(tk, 1, p)
	t.Logf("%+v of %d frames, warnings %v", v, tk.Scene.Frames(), res.Warnings)
	if v.n < tk.Scene.Frames()-6 || v.worst > most || v.pull > mostPull {
		t.Errorf("%+v, want nearly all of %d frames, errors below %g px, pull below %g", v, tk.Scene.Frames(), most, mostPull)
	}
}
