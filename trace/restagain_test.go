package trace

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"padside/footage"
)

// bandedLaunch is footage of a vehicle of painted bands that rises before a wood.
type bandedLaunch struct {
	pictures
	wood, paint []float64
	noise       *rand.Rand
}

// Levels and px; frames.
const (
	bandedW, bandedH = 80, 420
	bandedLong       = 70
	bandedWide       = 9
	bandedX          = 40
	bandedNose       = 330.0 // at rest
	bandedAtRest     = 14
	bandedFaster     = 0.55 // px in a frame, each frame
	bandedFrames     = 46
)

func newBandedLaunch(seed uint64) *bandedLaunch {
	r := rand.New(rand.NewPCG(seed, 3))
	b := &bandedLaunch{noise: r, wood: make([]float64, bandedW*bandedH), paint: make([]float64, bandedLong/6+2)}
	for k := range b.wood {
		x, y := float64(k%bandedW), float64(k/bandedW)
		b.wood[k] = 90 + 15*math.Sin(0.3*x+0.1*y) + 12*math.Sin(0.17*y-0.2*x)
	}
	for k := range b.paint {
		b.paint[k] = 60 + 150*r.Float64()
	}
	b.pictures = pictures{w: bandedW, h: bandedH, draw: b.frame, drawn: make([]*footage.Luma, bandedFrames)}
	return b
}

// nose is where the nose is in a frame, along y.
func (b *bandedLaunch) nose(frame int) float64 {
	t := float64(max(0, frame-bandedAtRest))
	return bandedNose - bandedFaster/2*t*t
}

// frame draws one with noise of one level.
func (b *bandedLaunch) frame(frame int) *footage.Luma {
	l := &footage.Luma{Width: bandedW, Height: bandedH, Depth: 8, Pix8: make([]uint8, bandedW*bandedH)}
	nose := b.nose(frame)
	for k := range l.Pix8 {
		x, y := k%bandedW, float64(k/bandedW)
		v := b.wood[k]
		if d := y - nose; x >= bandedX-bandedWide/2 && x <= bandedX+bandedWide/2 && d > -1 && d < bandedLong {
			at := max(0, d) / 6
			n, part := int(at), at-math.Floor(at)
			v = (1-part)*b.paint[n] + part*b.paint[n+1]
		}
		l.Pix8[k] = uint8(min(max(math.Round(v+b.noise.NormFloat64()), 0), 255))
	}
	return l
}

// followBanded follows the one lane of a launch to its path.
func followBanded(t *testing.T, src Source) (*follower, *lane, *refiner, *Path) {
	t.Helper()
	f := newFollower(src, Options{FrameTime: func(i int) float64 { return float64(i) / 120 }, ExposureGiven: true}.withDefaults(src))
	if err := f.read(context.Background()); err != nil {
		t.Fatal(err)
	}
	l := f.lanes[0]
	r, ok := f.refined(l)
	if !ok {
		t.Fatal("nothing to hold on to")
	}
	return f, l, r, f.pathOf(l, r)
}

// Places at rest that are of another part of the vehicle than those in flight go to where what
// flies is seen to rest; right ones stay.
func TestRestAgain(t *testing.T) {
	t.Parallel()
	for seed := range uint64(2) {
		for _, off := range []float64{0, 15, -12} {
			b := newBandedLaunch(seed)
			f, l, r, p := followBanded(t, b)
			// As if another part of the vehicle had been matched at rest.
			if err := f.moveRest(context.Background(), l, bandedAtRest, 0, off); err != nil {
				t.Fatal(err)
			}
			p.Line.Rest.Y += off
			for i := range p.Points {
				if q := &p.Points[i]; q.Frame <= bandedAtRest {
					q.Y += off
				}
			}
			_, p, err := f.heldAgainst(context.Background(), l, r, p)
			if err != nil {
				t.Fatal(err)
			}
			var rest, flight, n float64
			for _, q := range p.Points {
				if e := q.Y - b.nose(q.Frame); q.Frame < bandedAtRest {
					rest = e
				} else if q.Frame > bandedAtRest+8 {
					flight, n = flight+e, n+1
				}
			}
			if n < 10 || math.Abs(rest-flight/n) > 1 {
				t.Errorf("seed %d: moved by %g px, the places at rest lie %.1f px from those in flight (%g frames)", seed, off, rest-flight/n, n)
			}
		}
	}
}
