package trace

import (
	"math"
	"math/rand/v2"
	"testing"

	"padside/footage"
	"padside/register"
)

// duskBall is footage of a ball dark before the sky that falls before a field of its own brightness.
// Below the horizon the low sun lights a stripe of it, which alone tells it from what lies behind.
type duskBall struct{ seed uint64 }

// Levels and px; frames.
const (
	duskW, duskH = 90, 420
	duskHorizon  = 150.0
	duskSky      = 180.0
	duskField    = 60.0
	duskStripe   = 105.0
	duskRadius   = 12.0
	duskX, duskY = 44.0, 60.0 // of its centre at rest
	duskAtRest   = 6
	duskFaster   = 0.7 // px in a frame, each frame
	duskFrames   = 34
)

// place is where the ball's centre is in a frame, along y.
func (duskBall) place(frame int) float64 {
	t := float64(max(0, frame-duskAtRest))
	return duskY + duskFaster/2*t*t
}

// frame draws one, four samples a pixel, with noise of one level.
func (b duskBall) frame(frame int) *footage.Luma {
	r := rand.New(rand.NewPCG(b.seed, uint64(frame)))
	l := &footage.Luma{Width: duskW, Height: duskH, Depth: 8, Pix8: make([]uint8, duskW*duskH)}
	cy := b.place(frame)
	for k := range l.Pix8 {
		sum := r.NormFloat64()
		for s := range 4 {
			x, y := float64(k%duskW)+float64(s%2)/2-0.25, float64(k/duskW)+float64(s/2)/2-0.25
			dx, ball := x-duskX, math.Hypot(x-duskX, y-cy) < duskRadius
			switch {
			case ball && y > duskHorizon && dx > -8 && dx < -4:
				sum += duskStripe / 4
			case ball || y > duskHorizon:
				sum += duskField / 4
			default:
				sum += duskSky / 4
			}
		}
		l.Pix8[k] = uint8(math.Round(sum))
	}
	return l
}

// The reference of a ball dark before the sky finds nothing like it before a field as dark, and the lane goes on by what still differs
// from the picture at rest: it is seen to the end, no farther beside its place than a prediction is off.
func TestLaneTakesAnotherLook(t *testing.T) {
	t.Parallel()
	const most = lookReach + 1 // px
	for seed := range uint64(2) {
		b := duskBall{seed}
		rest := still{noise: 1}
		for i := range 4 {
			rest.add(b.frame(100 + i)) // the ball is far below the picture
		}
		const side = 2*duskRadius + 3
		patch := register.Area{X: duskX - (side-1)/2, Y: duskY - (side-1)/2, W: side, H: side}
		l := newLane(1, patch, register.Flat(side*side), b.frame(0))
		l.down, l.still, l.ground = true, &rest, &rest
		l.camera = func(int, float64, float64) (dx, dy float64) { return 0, 0 }
		seen, want := 0, 0
		for i := range duskFrames {
			l.step(i, float64(i), b.frame(i))
			if y := b.place(i); y > duskHorizon+duskRadius && y < duskH-duskRadius {
				want++
			}
		}
		for _, s := range l.sights {
			if b.place(s.frame) > duskHorizon+duskRadius {
				seen++
			}
			if e := math.Hypot(s.x-duskX, s.y-b.place(s.frame)); e > most {
				t.Errorf("seed %d, frame %d: seen %.1f px beside the ball", seed, s.frame, e)
			}
		}
		if seen < want {
			t.Errorf("seed %d: seen in %d of %d frames before the field", seed, seen, want)
		}
	}
}
