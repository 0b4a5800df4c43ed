package trace

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"padside/footage"
)

// movers is footage of squares of their own texture that move over a slightly textured ground, part of which is strongly textured and smoke hides as it spreads from the left.
type movers struct {
	hidden float64 // share of the width whose texture is hidden in time
	list   []mover
	ground []float64
	noise  *rand.Rand
}

// mover is a square of side px, or wide px across if that is set, whose texture has an amplitude, levels; its middle is at (x, y) at rest and is pulled
// by (ax, ay), px in a frame each frame.
type mover struct {
	side, amplitude float64
	wide            float64
	x, y, ax, ay    float64
}

const (
	moversW, moversH = 480, 320
	moversAtRest     = 12
	moversFrames     = 40
	hideAt, hideBy   = 13, 6.0 // from which frame, and by how many columns a frame
)

func newMovers(seed uint64, hidden float64, list ...mover) *pictures {
	m := &movers{hidden: hidden, list: list, noise: rand.New(rand.NewPCG(seed, 9)), ground: make([]float64, moversW*moversH)}
	for k := range m.ground {
		m.ground[k] = 120 + 50*(m.noise.Float64()-0.5)
	}
	return &pictures{w: moversW, h: moversH, draw: m.frame, drawn: make([]*footage.Luma, moversFrames)}
}

func (m *movers) frame(frame int) *footage.Luma {
	l := &footage.Luma{Width: moversW, Height: moversH, Depth: 8, Pix8: make([]uint8, moversW*moversH)}
	t := float64(max(0, frame-moversAtRest))
	for k := range l.Pix8 {
		x, y := float64(k%moversW), float64(k/moversW)
		v := 120 + 0.2*(m.ground[k]-120) // by which the camera is seen to stand still
		if x < m.hidden*moversW {
			if v = m.ground[k]; float64(frame) >= hideAt+x/hideBy {
				v = 150
			}
		}
		for _, o := range m.list {
			u, w := x-o.x-o.ax/2*t*t, y-o.y-o.ay/2*t*t
			if o.wide > 0 && 2*math.Abs(u) < o.wide && 2*math.Abs(w) < o.side {
				v = 120 + o.amplitude*(0.7+0.3*math.Sin(0.2*w)) // dark or bright, with bands
			} else if o.wide == 0 && 2*math.Abs(u) < o.side && 2*math.Abs(w) < o.side {
				v = 120 + o.amplitude*(math.Sin(0.9*u)+math.Sin(0.8*w+0.5*u))
			}
		}
		l.Pix8[k] = uint8(min(max(math.Round(v+0.5*m.noise.NormFloat64()), 0), 255))
	}
	return l
}

// Ground with more texture than the vehicle that smoke hides takes all the first places looked at; the vehicle beside it is found all the same.
func TestVehicleBesideHiddenGround(t *testing.T) {
	t.Parallel()
	src := newMovers(1, 0.4, mover{side: 30, amplitude: 5, x: 440, y: 40, ay: 0.5})
	res, err := Follow(context.Background(), src, Options{Rod: [2]float64{0, -1}})
	if err != nil {
		t.Fatal(err)
	}
	first, last := res.Paths[0].Points[0], res.Paths[0].Points[len(res.Paths[0].Points)-1]
	if math.Abs(first.X-440) > 20 || last.Y-first.Y < 60 {
		t.Errorf("followed from (%.0f, %.0f) to (%.0f, %.0f), want what falls from (440, 40)", first.X, first.Y, last.X, last.Y)
	}
}

// A vehicle 5 px wide before textured ground fills a third of a square piece, which does not keep its looks then; slats as slender as it do.
func TestSlenderVehicleBeforeTexture(t *testing.T) {
	t.Parallel()
	src := newMovers(4, 1, mover{side: 60, wide: 5, amplitude: -80, x: 400, y: 230, ax: 0.01, ay: -0.5})
	res, err := Follow(context.Background(), src, Options{Rod: [2]float64{0, -1}, Rises: true})
	if err != nil {
		t.Fatal(err)
	}
	first, last := res.Paths[0].Points[0], res.Paths[0].Points[len(res.Paths[0].Points)-1]
	frames := float64(last.Frame - moversAtRest)
	if math.Abs(first.X-400) > 10 || math.Abs(first.Y-last.Y-0.25*frames*frames) > 3 || frames < 20 {
		t.Errorf("followed from (%.0f, %.0f) in frame %d to (%.0f, %.0f) in frame %d, want what rises from x = 400", first.X, first.Y, first.Frame, last.X, last.Y, last.Frame)
	}
}

// What goes across the rod is not what flies, nor what goes against it of a launch: of a bold square that goes aside and a pale one that falls, the rod tells.
func TestRodTellsWhatFlies(t *testing.T) {
	t.Parallel()
	aside := mover{side: 60, amplitude: 30, x: 80, y: 100, ax: 0.9}
	for _, c := range []struct {
		name string
		rod  [2]float64
		x    float64 // of what is followed
	}{{"no rod", [2]float64{}, 80}, {"upright rod", [2]float64{0, -1}, 440}} {
		src := newMovers(2, 0, aside, mover{side: 30, amplitude: 12, x: 440, y: 40, ay: 0.5})
		res, err := Follow(context.Background(), src, Options{Rod: c.rod})
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if x := res.Paths[0].Points[0].X; math.Abs(x-c.x) > 40 {
			t.Errorf("%s: what was at x = %.0f is followed, want %.0f", c.name, x, c.x)
		}
	}
	falls := newMovers(3, 0, mover{side: 30, amplitude: 12, x: 240, y: 40, ay: 0.5})
	if _, err := Follow(context.Background(), falls, Options{Rod: [2]float64{0, -1}}); err != nil {
		t.Errorf("what falls along a rod: %v", err)
	}
	_, err := Follow(context.Background(), falls, Options{Rod: [2]float64{0, -1}, Rises: true})
	if err == nil || !strings.Contains(err.Error(), "nothing in the footage moves along the rod as it should") {
		t.Errorf("a launch that falls: %v, want it refused", err)
	}
}
