package trace_test

import (
	"context"
	"math"
	"testing"

	"padside/scene"
	"padside/trace"
)

// TestRowsByLength films a bottle with a shutter that reads its rows in 3.6 ms, at 240 frames a second and without a word of shutter or exposure: what of the barrel's length goes with
// speed tells the delay from row to row, by a stated uncertainty of a fifth of it at most, and for that delay the rest of it tells the change of distance.
func TestRowsByLength(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("draws and follows a launch")
	}
	tk := scene.BottleRocket(701, scene.BottleOptions{Rate: 240})
	s := tk.Scene
	s.Camera.Exposure, s.Camera.RowTime = 1/1200., 3.6e-3/float64(s.Camera.Height)
	o := options(tk)
	o.Exposure, o.ExposureGiven = 0, false
	res, err := trace.Follow(context.Background(), drawn{s}, o)
	if err != nil {
		t.Fatal(err)
	}
	p := &res.Paths[0]
	skew := s.Camera.RowTime * p.Line.Uy // of the top row first: higher places are read earlier
	t.Logf("skew %.3g us/px, seen %.3g give or take %.2g in %d frames", 1e6*skew, 1e6*p.Ruler.Skew, 1e6*p.Ruler.SkewU, p.Ruler.Frames)
	const mostPull = 3.0
	if u := p.Ruler.SkewU; u == 0 || u > math.Abs(skew)/5 || math.Abs(p.Ruler.Skew-skew) > mostPull*u {
		t.Errorf("the length shows a skew of %g give or take %g s/px, want %g", p.Ruler.Skew, u, skew)
	}
	s.Camera.RowTime = 0
	truth, far := rulerTruth(tk, p)
	off, without := p.Ruler.At(skew)-truth, p.Ruler.Rate-truth
	t.Logf("given the skew the length is off by %.2f %% over the way, %.1f times its uncertainty; taken for none, by %.2f %%", 100*off*far, off/p.Ruler.U, 100*without*far)
	if math.Abs(off) > mostPull*p.Ruler.U || math.Abs(off) > math.Abs(without)/2 {
		t.Errorf("given the skew the length is off by %.2f %% over the way, %.1f times its uncertainty; taken for none, by %.2f %%", 100*off*far, off/p.Ruler.U, 100*without*far)
	}
}
