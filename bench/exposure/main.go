// Command exposure draws launches filmed with any exposure from nothing to nine tenths of the frame interval, and by a shutter that reads row by row, follows them without a
// word of either, and prints how far off trace finds the exposure, the skew of the shutter, the lean that the barrel's length shows, and the places, and how often
// its 95 % intervals hold the truth.
//
//	go run ./bench/exposure -seeds 12
package main

import (
	"context"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"padside/bench/takes"
	"padside/footage"
	"padside/scene"
	"padside/trace"
)

// class is one kind of footage.
type class struct {
	name string
	draw func(seed uint64) *scene.Take
	hz   float64
	row  float64 // s, largest readout of the whole picture; 0: all rows at once
}

func classes() []class {
	bottle := func(s uint64) *scene.Take { return scene.BottleRocket(s, scene.BottleOptions{Rate: 1600}) }
	slow := func(s uint64) *scene.Take { return scene.BottleRocket(s, scene.BottleOptions{Rate: 240}) }
	return []class{
		{"bottle1600", bottle, 1600, 0},
		{"bottle240", slow, 240, 0},
		{"motor240", scene.MotorRocket, 240, 0},
		{"phone60", phone60, 60, 0},
		{"phone30", scene.PhoneClip30, 30, 0},
		{"rows1600", bottle, 1600, 0.5e-3},
		{"rows240", scene.MotorRocket, 240, 3.6e-3},
		{"rowsbottle240", slow, 240, 3.6e-3},
		{"rows60", phone60, 60, 12e-3},
		{"rows30", scene.PhoneClip30, 30, 20e-3},
	}
}

// phone60 is the hand-held phone at 60 evenly spaced frames a second.
func phone60(seed uint64) *scene.Take {
	t := scene.PhoneClip30(seed)
	t.Scene.Stamps = scene.Rate(2*len(t.Scene.Stamps), 60)
	return t
}

func main() {
	seeds := flag.Int("seeds", 12, "takes per class")
	first := flag.Uint64("first", 700, "first seed; reported figures are of seeds from 1000000 on")
	only := flag.String("only", "", "only classes whose name holds this")
	coded := flag.Bool("coded", false, "through H.264 (rate factor 20, B frames)")
	stated := flag.Bool("stated", false, "state the exposure")
	verbose := flag.Bool("v", false, "print every take")
	flag.Parse()
	fmt.Println("| footage | takes | exposure: told | held | rms off, of a frame | skew: told | held | rms of U | lean: seen | held | rms off, deg | places rms px | pull |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|---|---|---|---|")
	for _, c := range classes() {
		if !strings.Contains(c.name, *only) {
			continue
		}
		var all []verdict
		for i := range *seeds {
			v, err := run(c, *first+uint64(i), *coded, *stated)
			if err != nil {
				fmt.Fprintf(os.Stderr, "%s %d: %v\n", c.name, *first+uint64(i), err)
				continue
			}
			if *verbose {
				fmt.Fprintf(os.Stderr, "%s %d: %s\n", c.name, *first+uint64(i), v)
			}
			all = append(all, v)
		}
		print(c.name, all)
	}
}

// verdict is what one take errs by.
type verdict struct {
	share                    float64 // of the frame interval that was exposed
	exposure, exposureU      float64 // the error, of the frame interval, and its standard uncertainty
	told, held               bool
	skew, skewU, lean, leanU float64 // errors with their standard uncertainties: s/px, degrees
	places, pull             float64
	rulerFrames, stretched   float64
}

func (v verdict) String() string {
	return fmt.Sprintf("exposed %.3f of a frame: off by %.4f (%.2f U, told %v, held %v); skew off by %.2f U of %.2g us/px, stretch %.1f %%; lean off by %.2f deg (%.1f U), %.0f frames; places %.3f px, pull %.2f",
		v.share, v.exposure, v.exposure/v.exposureU, v.told, v.held, v.skew/v.skewU, 1e6*v.skewU, 100*v.stretched, v.lean, v.lean/v.leanU, v.rulerFrames, v.places, v.pull)
}

const half95 = 1.96

func print(name string, all []verdict) {
	rms := func(of func(v verdict) (float64, bool)) (float64, int) {
		var sum float64
		n := 0
		for _, v := range all {
			if e, ok := of(v); ok {
				sum += e * e
				n++
			}
		}
		return math.Sqrt(sum / math.Max(1, float64(n))), n
	}
	count := func(is func(v verdict) bool) (n int) {
		for _, v := range all {
			if is(v) {
				n++
			}
		}
		return n
	}
	off, told := rms(func(v verdict) (float64, bool) { return v.exposure, v.told })
	skew, skews := rms(func(v verdict) (float64, bool) { return v.skew / v.skewU, v.skewU > 0 })
	lean, leans := rms(func(v verdict) (float64, bool) { return v.lean, v.rulerFrames > 0 })
	places, _ := rms(func(v verdict) (float64, bool) { return v.places, true })
	pull, _ := rms(func(v verdict) (float64, bool) { return v.pull, true })
	fmt.Printf("| %s | %d | %d | %d | %.4f | %d | %d | %.2f | %d | %d | %.3f | %.4f | %.2f |\n", name, len(all), told, count(func(v verdict) bool { return v.held }), off,
		skews, count(func(v verdict) bool { return v.skewU > 0 && math.Abs(v.skew) < half95*v.skewU }), skew,
		leans, count(func(v verdict) bool { return v.rulerFrames > 0 && math.Abs(v.lean) < half95*v.leanU }), lean, places, pull)
}

// run draws a take with an exposure and a shutter by chance, follows it and compares.
func run(c class, seed uint64, coded, stated bool) (verdict, error) {
	t := c.draw(seed)
	r := rand.New(rand.NewPCG(seed, 0x6578706f7365))
	v := verdict{share: 0.9 * r.Float64()}
	t.Scene.Camera.Exposure = v.share / c.hz
	t.Scene.Camera.RowTime = 0
	if c.row > 0 {
		t.Scene.Camera.RowTime = c.row * (0.2 + 0.8*r.Float64()) / float64(t.Scene.Camera.Height)
	}
	src, done, err := source(t, coded)
	if err != nil {
		return v, err
	}
	defer done()
	o := trace.Options{FrameTime: func(i int) float64 { return t.Scene.Stamps[i] }}
	if stated {
		o.Exposure, o.ExposureGiven = t.Scene.Camera.Exposure, true
	}
	res, err := trace.Follow(context.Background(), src, o)
	if err != nil {
		return v, err
	}
	p := &res.Paths[0]
	e := res.Exposure
	v.exposure, v.exposureU, v.told = (e.Value-t.Scene.Camera.Exposure)*c.hz, e.U*c.hz, e.Seen
	v.held = t.Scene.Camera.Exposure >= e.Least && t.Scene.Camera.Exposure <= e.Most
	v.judgeRuler(t, p)
	v.judgePlaces(t, p)
	return v, nil
}

// source is the take as footage: as drawn, or through a clip.
func source(t *scene.Take, coded bool) (trace.Source, func(), error) {
	if !coded {
		return takes.Draw(t.Scene), func() {}, nil
	}
	dir, err := os.MkdirTemp("", "padside-exposure-")
	if err != nil {
		return nil, nil, err
	}
	path := filepath.Join(dir, "take.mp4")
	if err := scene.WriteClip(context.Background(), t.Scene, path, scene.ClipOptions{BFrames: 2, CRF: 20}); err != nil {
		return nil, nil, err
	}
	f, err := footage.Open(context.Background(), path, footage.Options{})
	if err != nil {
		return nil, nil, err
	}
	return f, func() { f.Close(); os.RemoveAll(dir) }, nil
}

// judgeRuler compares what the barrel's length says with the truth.
func (v *verdict) judgeRuler(t *scene.Take, p *trace.Path) {
	if p.Ruler.Frames == 0 {
		return
	}
	s, b := t.Scene, &t.Scene.Vehicles[0]
	row := s.Camera.RowTime
	skew := row * p.Line.Uy
	v.rulerFrames, v.skew, v.skewU = float64(p.Ruler.Frames), p.Ruler.Skew-skew, p.Ruler.SkewU
	for i := 1; i < len(p.Points); i++ {
		speed := (p.Points[i].X-p.Points[i-1].X)*p.Line.Ux + (p.Points[i].Y-p.Points[i-1].Y)*p.Line.Uy
		v.stretched = max(v.stretched, math.Abs(skew*speed/(s.Stamps[p.Points[i].Frame]-s.Stamps[p.Points[i-1].Frame])))
	}
	s.Camera.RowTime = 0 // the distance's part alone
	truth := rateOf(s, p)
	const tilt = 0.5 * math.Pi / 180
	b.Lean += tilt
	slope := (rateOf(s, p) - truth) / tilt * math.Pi / 180
	b.Lean -= tilt
	s.Camera.RowTime = row
	v.lean, v.leanU = (p.Ruler.At(skew)-truth)/slope, p.Ruler.U/math.Abs(slope)
}

// rateOf is the slope of a straight line through 1 at rest, fitted to how long what is painted on the middle of the barrel is seen, per px of the flight line.
func rateOf(s *scene.Scene, p *trace.Path) float64 {
	b := &s.Vehicles[0]
	at := func(frame int) (way, long float64) {
		m, n := s.Before(1, frame, 0.45*b.Length, b.Diameter/2).Steady, s.Before(1, frame, 0.65*b.Length, b.Diameter/2).Steady
		return m.X*p.Line.Ux + m.Y*p.Line.Uy, math.Hypot(m.X-n.X, m.Y-n.Y)
	}
	w0, l0 := at(p.Points[0].Frame)
	var xx, xy float64
	for _, q := range p.Points {
		w, l := at(q.Frame)
		if w-w0 > p.Ruler.Reach {
			break
		}
		xx, xy = xx+(w-w0)*(w-w0), xy+(w-w0)*(l/l0-1)
	}
	return xy / xx
}

// judgePlaces compares the places with the truth, less what they are off by at rest.
func (v *verdict) judgePlaces(t *scene.Take, p *trace.Path) {
	var frames []int
	var ways, errs []float64
	for _, q := range p.Points {
		frames, ways = append(frames, q.Frame), append(ways, (q.X-p.Line.Rest.X)*p.Line.Ux+(q.Y-p.Line.Rest.Y)*p.Line.Uy)
	}
	seen := t.Scene.Followed(1, p.Line, frames, ways)
	var rest []float64
	for _, q := range p.Points {
		tr := seen.Truth(q.Frame)
		errs = append(errs, (q.X-tr.Steady.X)*p.Line.Ux+(q.Y-tr.Steady.Y)*p.Line.Uy)
		if math.Abs(tr.Height) < 1e-5 {
			rest = append(rest, errs[len(errs)-1])
		}
	}
	zero := 0.0
	if len(rest) > 0 {
		slices.Sort(rest)
		zero = rest[len(rest)/2]
	}
	for i, e := range errs {
		v.places, v.pull = v.places+(e-zero)*(e-zero), v.pull+math.Pow((e-zero)/p.Points[i].Total(), 2)
	}
	n := float64(len(errs))
	v.places, v.pull = math.Sqrt(v.places/n), math.Sqrt(v.pull/n)
}
