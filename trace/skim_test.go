package trace_test

import (
	"context"
	"math"
	"slices"
	"sync"
	"testing"

	"padside/footage"
	"padside/scene"
	"padside/trace"
)

// keyed is a long clip made of a short one: which of the short one's frames each frame shows. Its key frames are far apart.
type keyed struct {
	*kept
	shows []int
	keys  []int
	mu    sync.Mutex
	first int // frame read
	looks int // glimpses
}

func (k *keyed) Len() int         { return len(k.shows) }
func (k *keyed) KeyFrames() []int { return k.keys }

func (k *keyed) Read(ctx context.Context, from, to int, visit func(footage.Frame) error) error {
	k.mu.Lock()
	k.first = min(k.first, from)
	k.mu.Unlock()
	return k.show(ctx, from, to, func(int) bool { return true }, 1, visit)
}

func (k *keyed) Glimpse(ctx context.Context, from, to, step int, visit func(footage.Frame) error) error {
	k.mu.Lock()
	k.looks++
	k.mu.Unlock()
	return k.show(ctx, from, to, func(i int) bool { return i%2 == 0 }, step, visit)
}

func (k *keyed) Skim(ctx context.Context, from, to, step int, visit func(footage.Frame) error) error {
	return k.show(ctx, from, to, func(i int) bool { return slices.Contains(k.keys, i) }, step, visit)
}

func (k *keyed) show(ctx context.Context, from, to int, which func(int) bool, step int, visit func(footage.Frame) error) error {
	for i := from; i < to; i++ {
		if !which(i) {
			continue
		}
		l := k.frames[k.shows[i]]
		thin := &footage.Luma{Width: l.Width / step, Height: l.Height / step, Depth: l.Depth}
		for y := range thin.Height {
			for x := range thin.Width {
				thin.Pix8 = append(thin.Pix8, l.Pix8[(y*step+step/2)*l.Width+x*step+step/2])
			}
		}
		if err := visit(footage.Frame{Index: i, Luma: thin}); err != nil {
			return err
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
	return nil
}

// A clip is read from shortly before its key frames differ. What key frames do not show is found all the same.
func TestSkim(t *testing.T) {
	t.Parallel()
	const (
		rest, flight, every = 20, 150, 240 // frames of the short clip before first motion, and in all; between key frames
		rate                = 1600.0
	)
	take := scene.BottleRocket(5, scene.BottleOptions{Rate: rate, Frames: flight, Width: 160, Height: 480})
	take.Scene.Vehicles[0].Start = rest / rate
	short := keep(take.Scene)
	changed := *short.frames[0]
	changed.Pix8 = append([]uint8(nil), changed.Pix8...)
	for y := 20; y < 80; y++ {
		for x := 10; x < 60; x++ {
			changed.Pix8[y*changed.Width+x] = uint8(60 + 120*(x/8%2)) // something is hung up far from the pad
		}
	}
	short.frames = append(short.frames, &changed)
	still := func(n int) (out []int) {
		for i := range n {
			out = append(out, i%(rest-5))
		}
		return out
	}
	var fly, hung []int
	for i := range flight {
		fly, hung = append(fly, i), append(hung, flight)
	}
	join := func(parts ...[]int) (out []int) {
		for _, p := range parts {
			out = append(out, p...)
		}
		return out
	}
	late := join(still(1100), fly)
	for _, c := range []struct {
		name  string
		shows []int
		keys  []int
		first int // frame from which the clip is read at the earliest
		onset int
		dense bool // all frames are glimpsed at
	}{
		{"no key frames known", late, nil, 1000, 1100 + rest, true},
		{"late", late, []int{0, 240, 480, 720, 960, 1200}, 960 - 96, 1100 + rest, false},
		{"between key frames", join(still(245), fly, still(705)), []int{0, 240 * 2, 240 * 4}, 100, 245 + rest, true},
		{"between key frames, and a change later", join(still(245), fly, still(705), hung, hung), []int{0, 240 * 2, 240 * 4, 240 * 5}, 100, 245 + rest, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			src := &keyed{kept: short, shows: c.shows, keys: c.keys, first: math.MaxInt}
			o := trace.Options{FrameTime: func(i int) float64 { return float64(i) / rate }, Exposure: take.Scene.Camera.Exposure, ExposureGiven: true}
			res, err := trace.Follow(context.Background(), src, o)
			if err != nil {
				t.Fatal(err)
			}
			if (src.looks > 0) != c.dense {
				t.Errorf("%d glimpses", src.looks)
			}
			p := &res.Paths[0]
			if src.first < c.first {
				t.Errorf("read from frame %d, want %d at the earliest", src.first, c.first)
			}
			if res.Onset < c.onset-5 || res.Onset > c.onset+15 {
				t.Errorf("onset %d, want %d or a little later", res.Onset, c.onset)
			}
			p = shifted(p, c.onset-rest)
			if v := judge(take, 1, p); v.n < 60 || v.worst > 0.3 {
				t.Errorf("%+v, want 60 frames within 0.3 px", v)
			}
		})
	}
}

// shifted is the path with frame from counted as 0, and what comes before or after the short clip left out.
func shifted(p *trace.Path, from int) *trace.Path {
	out := *p
	out.Points = nil
	for _, q := range p.Points {
		if q.Frame -= from; q.Frame >= 0 && q.Frame < 150 {
			out.Points = append(out.Points, q)
		}
	}
	return &out
}
