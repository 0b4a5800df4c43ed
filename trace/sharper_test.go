package trace_test

import (
	"context"
	"math"
	"testing"

	"padside/fit"
	"padside/scene"
	"padside/trace"
)

// TestSharperThanReference boxes a ball in flight, so that the reference is drawn out by what the exposure makes of its speed there; the pictures just after
// the release are sharp. They look as much like it as if all had been sharp: at most twice as much is missing from a correlation of 1.
func TestSharperThanReference(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("draws and follows four falls")
	}
	const most = 2
	for _, seed := range []uint64{7, 8} {
		sharp, drawnOut := unlikeAtRelease(t, seed, 0.02), unlikeAtRelease(t, seed, 0.9)
		t.Logf("ball %d: 1 less the correlation is %.4f, drawn out %.4f", seed, sharp, drawnOut)
		if drawnOut > most*sharp {
			t.Errorf("ball %d: 1 less the correlation is %.4f, of sharp pictures %.4f; want at most %d times that", seed, drawnOut, sharp, most)
		}
	}
}

// unlikeAtRelease is 1 less the median correlation in the first twelve frames of a fall, exposed for a share of the frame interval and boxed 30 frames after the release.
func unlikeAtRelease(t *testing.T, seed uint64, share float64) float64 {
	t.Helper()
	tk := scene.BallDrop(seed)
	s := tk.Scene
	s.Camera.Exposure = share / tk.Hz
	from := int(s.Vehicles[0].Start * tk.Hz)
	at := s.Truth(1, from+30, tk.Traced).Steady
	side := 1.6 * math.Abs(s.Truth(1, from+30, 0).Steady.Y-s.Truth(1, from+30, s.Vehicles[0].Length).Steady.Y)
	o := options(tk)
	o.Frame, o.Box, o.ExpectDown = from+30, &trace.Box{X: at.X - side/2, Y: at.Y - side/2, W: side, H: side}, true
	res, err := trace.Follow(context.Background(), drawn{s}, o)
	if err != nil {
		t.Fatal(err)
	}
	var unlike []float64
	for _, p := range res.Paths[0].Points {
		if p.Frame >= from+3 && p.Frame < from+15 {
			unlike = append(unlike, 1-p.Quality)
		}
	}
	if len(unlike) < 10 {
		t.Fatalf("ball %d: %d places in the first twelve frames of its fall", seed, len(unlike))
	}
	return fit.Median(unlike)
}
