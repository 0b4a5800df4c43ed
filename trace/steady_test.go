package trace

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"padside/footage"
	"padside/register"
)

// ripples is a picture of eight waves in all directions, levels, with lengths of 5 to 20 px.
type ripples [8]struct{ kx, ky, phase float64 }

func newRipples(r *rand.Rand) *ripples {
	w := &ripples{}
	for i := range w {
		s, c := math.Sincos(math.Pi * r.Float64())
		k := 2 * math.Pi / (5 + 15*r.Float64())
		w[i].kx, w[i].ky, w[i].phase = k*c, k*s, 2*math.Pi*r.Float64()
	}
	return w
}

func (w *ripples) at(x, y float64) float64 {
	v := 128.0
	for _, q := range w {
		v += 15 * math.Sin(q.kx*x+q.ky*y+q.phase)
	}
	return min(max(v, 0), 255)
}

// windyField is footage by a shaking camera of reeds that drift before the wind, all over the picture but for a wall.
type windyField struct {
	reeds, wall *ripples
	shake       [windyFrames][2]float64 // px: how far what stands still lies from where it is in the first frame
	r           *rand.Rand
}

const (
	windyW, windyH = 240, 160
	windyFrames    = 8
	windyDrift     = 0.8 // px in a frame, along x
)

// windyWall is where the wall stands in the first frame. The boxes given, one or two of them, lie well within it.
var (
	windyWall  = register.Area{X: 80, Y: 40, W: 84, H: 84}
	windyBox   = []Box{{X: 92, Y: 52, W: 60, H: 60}}
	windyBoxes = []Box{{X: 92, Y: 52, W: 28, H: 60}, {X: 126, Y: 52, W: 26, H: 60}}
)

func newWindyField(seed uint64) *windyField {
	r := rand.New(rand.NewPCG(seed, 41))
	f := &windyField{reeds: newRipples(r), wall: newRipples(r), r: r}
	for i := 1; i < windyFrames; i++ {
		f.shake[i] = [2]float64{2 * r.NormFloat64(), 2 * r.NormFloat64()}
	}
	return f
}

func (*windyField) Size() (int, int) { return windyW, windyH }
func (*windyField) Len() int         { return windyFrames }

func (f *windyField) Read(ctx context.Context, from, to int, visit func(footage.Frame) error) error {
	for i := from; i < to; i++ {
		l := &footage.Luma{Width: windyW, Height: windyH, Depth: 8, Pix8: make([]uint8, windyW*windyH)}
		for k := range l.Pix8 {
			x, y := float64(k%windyW)-f.shake[i][0], float64(k/windyW)-f.shake[i][1]
			v := f.reeds.at(x-windyDrift*float64(i), y)
			if a := windyWall; x >= float64(a.X) && x < float64(a.X+a.W) && y >= float64(a.Y) && y < float64(a.Y+a.H) {
				v = f.wall.at(x, y)
			}
			l.Pix8[k] = uint8(math.Round(min(max(v+f.r.NormFloat64(), 0), 255)))
		}
		if err := visit(footage.Frame{Index: i, Luma: l}); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// worst follows by marks alone where a thing is seen that rises by 10 px a frame, and returns how far beside it the freed places lie at the most, px.
func (f *windyField) worst(t *testing.T, still ...Box) float64 {
	t.Helper()
	way := func(frame int) (x, y float64) { return 30, 140 - 10*float64(frame) }
	o := Options{NoFollow: true, Steady: still}
	for i := range windyFrames {
		x, y := way(i)
		o.Marks = append(o.Marks, Mark{Frame: i, X: x + f.shake[i][0], Y: y + f.shake[i][1], U: 0.01})
	}
	res, err := Follow(t.Context(), f, o)
	if err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	for _, p := range res.Paths[0].Points {
		x, y := way(p.Frame)
		worst = max(worst, math.Hypot(p.X-x, p.Y-y))
	}
	return worst
}

// Where most of the background moves by itself, the camera's movement found in it is that of the reeds; told which part stands still, it is the camera's.
func TestSteadyIsWhatStandsStill(t *testing.T) {
	t.Parallel()
	const most = 0.1 // px: noise of one level in places that contrast by tens
	for seed := range uint64(3) {
		f := newWindyField(seed)
		told, found := max(f.worst(t, windyBox...), f.worst(t, windyBoxes...)), f.worst(t)
		t.Logf("seed %d: %.3f px by the wall, %.2f px by what was found", seed, told, found)
		if told > most || found < 2 {
			t.Errorf("seed %d: %.3f px by the wall that stands still, want at most %g; %.2f px by what was found, which drifts by %.1f", seed, told, most, found, windyDrift*(windyFrames-1))
		}
	}
}
