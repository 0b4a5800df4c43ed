package trace

import (
	"context"
	"path/filepath"
	"testing"

	"padside/footage"
	"padside/scene"
)

// A clip through JPEG hides one error of all frames at rest, which a lossless one has not: what a trace of it states of rest is that.
func TestRestOfFramesCodedAlone(t *testing.T) {
	t.Parallel()
	take := scene.BallDrop(3)
	take.Scene.Stamps = take.Scene.Stamps[:6]
	for _, c := range []struct {
		codec, name string
		want        float64
	}{{"mjpeg", "a.avi", aloneRestU}, {"ffv1", "b.mkv", RestU}} {
		path := filepath.Join(t.TempDir(), c.name)
		if err := scene.WriteClip(context.Background(), take.Scene, path, scene.ClipOptions{Codec: c.codec, CRF: 4, BFrames: 0}); err != nil {
			t.Fatal(err)
		}
		f, err := footage.Open(context.Background(), path, footage.Options{})
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		r := &refiner{alone: codedAlone(f)}
		if got := r.restU(false); got != c.want {
			t.Errorf("%s: frames at rest err together by %g px, want %g", c.codec, got, c.want)
		}
	}
}
