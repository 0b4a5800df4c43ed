package footage

import (
	"context"
	"fmt"
	"image"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

// filmed makes a clip as a high-speed camera does, H.264, 1920x570, three B-frames, of the given length.
func filmed(b *testing.B, seconds string) string {
	b.Helper()
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		b.Skip("ffmpeg is not installed")
	}
	path := filepath.Join(b.TempDir(), "clip.mp4")
	make := exec.Command("ffmpeg", "-v", "error", "-nostdin", "-f", "lavfi", "-i", "testsrc2=s=1920x570:r=60:d="+seconds+",noise=alls=10:all_seed=1",
		"-c:v", "libx264", "-preset", "veryfast", "-bf", "3", "-pix_fmt", "yuv420p", path)
	if out, err := make.CombinedOutput(); err != nil {
		b.Fatalf("make clip: %v: %s", err, out)
	}
	return path
}

// BenchmarkRead prints how fast Read is against ffmpeg decoding the same clip to nothing, in
// the same run, and what opening it costs beside that. 1 would be as fast as ffmpeg alone.
func BenchmarkRead(b *testing.B) {
	path := filmed(b, "31.4") // 1884 frames
	var alone, opening, ours time.Duration
	frames := 0
	b.ResetTimer()
	for b.Loop() {
		start := time.Now()
		if err := exec.Command("ffmpeg", "-v", "error", "-nostdin", "-i", path, "-f", "null", "-").Run(); err != nil {
			b.Fatal(err)
		}
		alone += time.Since(start)
		start = time.Now()
		f, err := Open(context.Background(), path, Options{})
		if err != nil {
			b.Fatal(err)
		}
		opening += time.Since(start)
		start = time.Now()
		err = f.Read(context.Background(), 0, 0, func(fr Frame) error {
			fr.Release()
			return nil
		})
		if err != nil {
			b.Fatal(err)
		}
		ours += time.Since(start)
		frames += f.Len()
		f.Close()
	}
	b.ReportMetric(alone.Seconds()/ours.Seconds(), "of-ffmpeg's-speed")
	b.ReportMetric(opening.Seconds()/alone.Seconds(), "open/ffmpeg's-time")
	b.ReportMetric(float64(frames)/ours.Seconds(), "frames/s")
}

// BenchmarkBrowse prints how long single pictures take, in ms: steps forward and back and far jumps, the median and the
// longest of 95 %, in a clip of 1920x570 px and in a folder of stills of 12 megapixels. For the clip, bare-ms is the median time in which
// ffmpeg alone, seeking to the same frames in the same run, decodes one frame to nothing.
func BenchmarkBrowse(b *testing.B) {
	clip := filmed(b, "16")
	burst := b.TempDir()
	m := image.NewYCbCr(image.Rect(0, 0, 4000, 3000), image.YCbCrSubsampleRatio420)
	for i := range m.Y {
		m.Y[i] = uint8(i*i>>7 ^ i>>3)
	}
	for i := range 12 {
		w, err := os.Create(filepath.Join(burst, fmt.Sprintf("b%d.jpg", i)))
		if err != nil {
			b.Fatal(err)
		}
		if err := jpeg.Encode(w, m, nil); err != nil {
			b.Fatal(err)
		}
		w.Close()
	}
	for _, c := range []struct{ name, path string }{{"clip", clip}, {"stills", burst}} {
		b.Run(c.name, func(b *testing.B) {
			f, err := Open(context.Background(), c.path, Options{})
			if err != nil {
				b.Fatal(err)
			}
			defer f.Close()
			var forth, back, far, bare []time.Duration
			look := func(list *[]time.Duration, i int) {
				start := time.Now()
				if _, err := f.Picture(context.Background(), i); err != nil {
					b.Fatal(err)
				}
				*list = append(*list, time.Since(start))
				time.Sleep(33 * time.Millisecond) // a held key repeats 30 times a second
			}
			for b.Loop() {
				n := f.Len()
				for k := range 6 {
					at := (k*7 + 3) * n / 46
					look(&far, at)
					if c.path == clip {
						start := time.Now()
						seek := fmt.Sprintf("%.4f", (float64(at)-0.5)/60)
						if err := exec.Command("ffmpeg", "-v", "error", "-nostdin", "-ss", seek, "-i", clip, "-frames:v", "1", "-f", "null", "-").Run(); err != nil {
							b.Fatal(err)
						}
						bare = append(bare, time.Since(start))
					}
					for s := 1; s <= 3; s++ {
						look(&forth, min(at+s, n-1))
					}
				}
				look(&far, n-1)
				for i := n - 2; i > max(n-40, 0); i-- {
					look(&back, i)
				}
			}
			for name, list := range map[string][]time.Duration{"forth": forth, "back": back, "far": far, "bare": bare} {
				if len(list) == 0 {
					continue
				}
				slices.Sort(list)
				b.ReportMetric(float64(list[len(list)/2])/1e6, name+"-ms")
				b.ReportMetric(float64(list[len(list)*95/100])/1e6, name+"-p95-ms")
			}
		})
	}
}
