package main

import (
	"context"
	"math"
	"math/rand/v2"
	"path/filepath"

	"padside/bench/takes"
	"padside/footage"
	"padside/metrology"
	"padside/motion"
	"padside/noise"
	"padside/scene"
	"padside/trace"
)

// shot is one launch, filmed.
type shot struct {
	take   *scene.Take
	class  takes.Class
	folder string
	seed   uint64
}

// way is a way of seeing a launch. see returns the heights and what all frames at rest err by together, m.
type way struct {
	name string
	see  func(ctx context.Context, s *shot) ([]motion.Observation, float64, error)
}

func ways() []way {
	return []way{
		{"truth 0.02 px", func(_ context.Context, s *shot) ([]motion.Observation, float64, error) {
			return s.simulated(0.02, 0.003)
		}},
		{"truth 0.05 px", func(_ context.Context, s *shot) ([]motion.Observation, float64, error) {
			return s.simulated(0.05, 0.003)
		}},
		{"truth 0.03 px with rest 0.06", func(_ context.Context, s *shot) ([]motion.Observation, float64, error) {
			return s.simulated(0.03, 0.06)
		}},
		{"truth 0.03 px with rest 0.03", func(_ context.Context, s *shot) ([]motion.Observation, float64, error) {
			return s.simulated(0.03, 0.03)
		}},
		{"drawn", func(ctx context.Context, s *shot) ([]motion.Observation, float64, error) { return s.drawn(ctx) }},
		{"truth as coded", func(ctx context.Context, s *shot) ([]motion.Observation, float64, error) { return s.asCoded(ctx) }},
		{"coded", func(ctx context.Context, s *shot) ([]motion.Observation, float64, error) { return s.coded(ctx) }},
	}
}

func names() []string {
	var out []string
	for _, w := range ways() {
		out = append(out, w.name)
	}
	return out
}

func wayNamed(name string) *way {
	for _, w := range ways() {
		if w.name == name {
			return &w
		}
	}
	return nil
}

// pixel is how many metres of height a pixel shows in frame i.
func (s *shot) pixel(i int) float64 {
	sc, along := s.take.Scene, s.take.Traced
	a, b := sc.Truth(1, i, along), sc.Truth(1, i, along-0.05)
	return 0.05 / math.Hypot(a.Steady.X-b.Steady.X, a.Steady.Y-b.Steady.Y)
}

// simulated sees true heights with normal noise of sd px, frames at rest off by rest px together.
func (s *shot) simulated(sd, rest float64) ([]motion.Observation, float64, error) {
	r := rand.New(rand.NewPCG(s.seed, 77))
	sc := s.take.Scene
	off := rest * r.NormFloat64()
	var out []motion.Observation
	for i := range sc.Frames() {
		t := sc.Truth(1, i, s.take.Traced)
		if !t.InView {
			break
		}
		p := s.pixel(i)
		h := t.Height + p*sd*r.NormFloat64()
		if t.Height < 1e-7 {
			h += p * off
		}
		out = append(out, motion.Observation{Frame: i, T: t.T, H: h, U: sd * p})
	}
	return out, rest * s.pixel(0), nil
}

// drawn follows the vehicle in the frames as they are drawn.
func (s *shot) drawn(ctx context.Context) ([]motion.Observation, float64, error) {
	return s.follow(ctx, &frames{scene: s.take.Scene})
}

// coded follows it in the clip.
func (s *shot) coded(ctx context.Context) ([]motion.Observation, float64, error) {
	if err := s.class.Film(ctx, s.take, s.folder); err != nil {
		return nil, 0, err
	}
	f, err := footage.Open(ctx, filepath.Join(s.folder, s.class.Footage()), footage.Options{})
	if err != nil {
		return nil, 0, err
	}
	defer f.Close()
	return s.follow(ctx, f)
}

// asCoded sees the truth in the frames that count in the clip, with normal noise of the size that the trace states there.
func (s *shot) asCoded(ctx context.Context) ([]motion.Observation, float64, error) {
	obs, rest, err := s.coded(ctx)
	if err != nil {
		return nil, 0, err
	}
	r := rand.New(rand.NewPCG(s.seed, 78))
	off := rest * r.NormFloat64()
	for i := range obs {
		o := &obs[i]
		t := s.take.Scene.Truth(1, o.Frame, s.take.Traced)
		o.H, o.Phase = t.Height+o.U*r.NormFloat64(), noise.Phase{}
		if t.Height < 1e-7 {
			o.H += off
		}
	}
	return obs, rest, nil
}

func (s *shot) follow(ctx context.Context, src trace.Source) ([]motion.Observation, float64, error) {
	sc := s.take.Scene
	res, err := trace.Follow(ctx, src, trace.Options{
		FrameTime: func(i int) float64 { return sc.Stamps[i] }, Exposure: sc.Camera.Exposure, ExposureGiven: true, ExpectDown: sc.Vehicles[0].Falls})
	if err != nil {
		return nil, 0, err
	}
	p := &res.Paths[0]
	along := alongOf(sc, p)
	var out []motion.Observation
	for _, q := range p.Points {
		if q.Copy {
			continue
		}
		t := sc.Truth(1, q.Frame, along)
		e := (q.X-t.Steady.X)*p.Line.Ux + (q.Y-t.Steady.Y)*p.Line.Uy
		pitch := s.pixel(q.Frame)
		out = append(out, motion.Observation{Frame: q.Frame, T: t.T, H: t.Height + e*pitch, U: pitch * q.U, DoubtU: pitch * q.UDoubt, Phase: q.Phase})
	}
	return out, p.RestU * s.pixel(0), nil
}

// alongOf solves for the height on the vehicle that is seen where the trace rests.
func alongOf(s *scene.Scene, p *trace.Path) float64 {
	at := func(along float64) float64 {
		tr := s.Truth(1, 0, along)
		return (tr.Steady.X-p.Line.Rest.X)*p.Line.Ux + (tr.Steady.Y-p.Line.Rest.Y)*p.Line.Uy
	}
	x0, x1 := 0.0, s.Vehicles[0].Length
	for range 30 {
		f0, f1 := at(x0), at(x1)
		if math.Abs(f1-f0) < 1e-9 {
			break
		}
		x0, x1 = x1, x1-f1*(x1-x0)/(f1-f0)
	}
	return x1
}

// span is an answer less the truth.
type span struct{ off, lo, hi float64 }

// verdict is what a launch's answers err by: first motion in frames, times to speed relative.
type verdict struct {
	span
	speeds []span
}

// measure asks motion.
func (s *shot) measure(ctx context.Context, obs []motion.Observation, restU float64) (verdict, error) {
	kind := motion.Motor
	switch {
	case s.class.Key == "bottle1600" || s.class.Key == "bottle" || s.class.Key == "rail1600":
		kind = motion.Bottle
	}
	in := motion.Input{Lane: 1, Observations: obs, LeftView: true, Kind: kind, RestU: restU, PhaseU: trace.PhaseU * s.pixel(0),
		Questions: motion.Questions{Speeds: s.take.Speeds}, Seed: s.seed, SetupSeed: s.seed}
	in.Common.RateU = 1e-6
	if obs[0].Phase == (noise.Phase{}) {
		in.PhaseU = 0
	}
	res, err := motion.Measure(ctx, in)
	if err != nil {
		return verdict{}, err
	}
	var v verdict
	known := s.take.Known()
	step := s.take.Scene.Stamps[1] - s.take.Scene.Stamps[0]
	for _, a := range res.Answers {
		if a.Status != metrology.Measured {
			continue
		}
		for _, k := range known {
			if !k.Of(a.ID, 1, a.At()) {
				continue
			}
			switch a.ID {
			case motion.FirstMotion:
				v.span = span{(*a.Value - k.Value) / step, (a.Interval[0] - k.Value) / step, (a.Interval[1] - k.Value) / step}
			case motion.TimeToSpeed:
				v.speeds = append(v.speeds, span{*a.Value/k.Value - 1, a.Interval[0]/k.Value - 1, a.Interval[1]/k.Value - 1})
			}
		}
	}
	return v, nil
}

// frames is a take as footage, without a file between.
type frames struct{ scene *scene.Scene }

func (d *frames) Size() (int, int) { return d.scene.Camera.Width, d.scene.Camera.Height }
func (d *frames) Len() int         { return d.scene.Frames() }
func (d *frames) Read(ctx context.Context, from, to int, visit func(footage.Frame) error) error {
	for i := from; i < to; i++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := visit(footage.Frame{Index: i, Luma: d.scene.Frame(i)}); err != nil {
			return err
		}
	}
	return nil
}
