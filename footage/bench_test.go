package footage

import (
	"context"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// BenchmarkRead prints how fast Read is against ffmpeg decoding the same clip to nothing, in
// the same run: H.264, 1920x570, three B-frames. 1 would be as fast as ffmpeg alone.
func BenchmarkRead(b *testing.B) {
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		b.Skip("ffmpeg is not installed")
	}
	path := filepath.Join(b.TempDir(), "clip.mp4")
	make := exec.Command("ffmpeg", "-v", "error", "-nostdin", "-f", "lavfi", "-i", "testsrc2=s=1920x570:r=60:d=10,noise=alls=10:all_seed=1",
		"-c:v", "libx264", "-preset", "veryfast", "-bf", "3", "-pix_fmt", "yuv420p", path)
	if out, err := make.CombinedOutput(); err != nil {
		b.Fatalf("make clip: %v: %s", err, out)
	}
	f, err := Open(context.Background(), path, Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	var alone, ours time.Duration
	b.ResetTimer()
	for b.Loop() {
		start := time.Now()
		if err := exec.Command("ffmpeg", "-v", "error", "-nostdin", "-i", path, "-f", "null", "-").Run(); err != nil {
			b.Fatal(err)
		}
		alone += time.Since(start)
		start = time.Now()
		err := f.Read(context.Background(), 0, 0, func(fr Frame) error {
			fr.Release()
			return nil
		})
		if err != nil {
			b.Fatal(err)
		}
		ours += time.Since(start)
	}
	b.ReportMetric(alone.Seconds()/ours.Seconds(), "of-ffmpeg's-speed")
	b.ReportMetric(float64(b.N*f.Len())/ours.Seconds(), "frames/s")
}
