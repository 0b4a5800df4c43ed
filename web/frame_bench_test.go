package web

import (
	"fmt"
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"
	"time"

	"padside/desk"
	"padside/scene"
	"padside/staged"
)

// BenchmarkFrames is how long a step from frame to frame and a far seek take, as the launch page asks for them: of a clip of the
// demo's size, width 320. A step is wanted within 30 ms, a far seek within 300 ms.
func BenchmarkFrames(b *testing.B) {
	dir := b.TempDir()
	take := scene.BottleRocket(11, scene.BottleOptions{Rate: 1600, Width: 400, Height: 960})
	clip := filepath.Join(dir, "heron.mp4")
	if err := scene.WriteClip(b.Context(), take.Scene, clip, scene.ClipOptions{}); err != nil {
		b.Skipf("no clip: %v", err)
	}
	launch := filepath.Join(dir, "book", "launches", "heron")
	if err := os.MkdirAll(launch, 0o755); err != nil {
		b.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(launch, "launch.toml"), staged.LaunchText(take, clip, 1), 0o644); err != nil {
		b.Fatal(err)
	}
	d, err := desk.Open(filepath.Join(dir, "book"), true)
	if err != nil {
		b.Fatal(err)
	}
	defer d.Close()
	s, err := New(d, Options{Port: "80"})
	if err != nil {
		b.Fatal(err)
	}
	get := func(i int) time.Duration {
		start := time.Now()
		w := httptest.NewRecorder()
		s.ServeHTTP(w, ask(s, "GET", fmt.Sprintf("/api/launches/heron/frames/%d?width=320", i), ""))
		if w.Code != 200 {
			b.Fatalf("frame %d = %d %s", i, w.Code, w.Body)
		}
		return time.Since(start)
	}
	n := take.Scene.Frames()
	get(0)
	var steps, seeks, worstStep, worstSeek time.Duration
	round := 0
	for b.Loop() {
		far := (round*97 + n/2) % (n - 12)
		round++
		took := get(far)
		seeks, worstSeek = seeks+took, max(worstSeek, took)
		for k := 1; k <= 10; k++ {
			took := get(far + k)
			steps, worstStep = steps+took, max(worstStep, took)
		}
	}
	b.ReportMetric(steps.Seconds()*1e3/float64(10*b.N), "ms/step")
	b.ReportMetric(worstStep.Seconds()*1e3, "ms/worst-step")
	b.ReportMetric(seeks.Seconds()*1e3/float64(b.N), "ms/seek")
	b.ReportMetric(worstSeek.Seconds()*1e3, "ms/worst-seek")
}
