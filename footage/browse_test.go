package footage

import (
	"bytes"
	"context"
	"hash/crc32"
	"image"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"
)

// colours decodes every frame of a clip to RGBA by another route than the package's: one plain run of ffmpeg.
func colours(t *testing.T, path string, w, h int) (sums []uint32) {
	t.Helper()
	raw := ffmpeg(t, "-noautorotate", "-i", path, "-fps_mode", "passthrough", "-vf", "scale=flags=bitexact+accurate_rnd+full_chroma_int,format=rgba", "-f", "rawvideo", "pipe:1")
	for ; len(raw) >= 4*w*h; raw = raw[4*w*h:] {
		sums = append(sums, crc32.ChecksumIEEE(raw[:4*w*h]))
	}
	return sums
}

// TestPictureIsTheFrame walks through clips as people do, steps forward and back and jumps, and holds every picture against a
// sequential decoding: frame n is frame n.
func TestPictureIsTheFrame(t *testing.T) {
	t.Parallel()
	x264 := []string{"-c:v", "libx264", "-pix_fmt", "yuv420p", "-g", "30"}
	for name, args := range map[string][]string{
		"b-frames.mp4": append([]string{"-bf", "3"}, x264...),
		"uneven.mp4":   append([]string{"-vf", "select='not(eq(mod(n,7),3))'", "-fps_mode", "vfr", "-bf", "2"}, x264...),
		"rounded.mkv":  append([]string{"-bf", "2"}, x264...),
		"edited.mp4":   append([]string{"-bf", "2"}, x264...),
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			if testing.Short() && name != "b-frames.mp4" {
				t.Skip("one container shows races as well")
			}
			path := made(t, name, args...)
			if name == "edited.mp4" { // cut in mid-group without decoding: an edit list hides the frames before the cut
				whole := path
				path = filepath.Join(t.TempDir(), name)
				ffmpeg(t, "-ss", "0.8", "-i", whole, "-c", "copy", path)
			}
			want := colours(t, path, 128, 96)
			const few = 20 * 4 * 128 * 96
			f := opened(t, path, Options{CacheBytes: few})
			if f.Len() != len(want) {
				t.Fatalf("Len() = %d, want %d", f.Len(), len(want))
			}
			r := rand.New(rand.NewPCG(5, 6))
			at, step := 0, 1
			for range 50 {
				switch r.IntN(12) {
				case 0:
					at = r.IntN(len(want))
				case 1:
					step = -step
				}
				at = min(max(at+step, 0), len(want)-1)
				m, err := f.Picture(context.Background(), at)
				if err != nil {
					t.Fatalf("Picture(%d) = %v", at, err)
				}
				if got := crc32.ChecksumIEEE(m.(*image.RGBA).Pix); got != want[at] {
					t.Errorf("Picture(%d) is not frame %d", at, at)
				}
			}
		})
	}
}

// TestManyLookAtOnce: pages ask for frames of one piece of footage at the same time, some of them leave early.
func TestManyLookAtOnce(t *testing.T) {
	t.Parallel()
	path := made(t, "a.mp4", "-c:v", "libx264", "-bf", "3", "-pix_fmt", "yuv420p", "-t", "0.5")
	f := opened(t, path, Options{CacheBytes: 5 * 128 * 96})
	want := sums(t, f, 0, 0)
	var all sync.WaitGroup
	for k := range 6 {
		all.Go(func() {
			r := rand.New(rand.NewPCG(uint64(k), 1))
			for range 15 {
				i := r.IntN(len(want))
				ctx, cancel := context.WithCancel(context.Background())
				if r.IntN(4) == 0 {
					cancel()
				}
				l, err := f.Frame(ctx, i)
				if err == nil && sum(l) != want[i] {
					t.Errorf("Frame(%d) is not frame %d", i, i)
				}
				if err != nil && ctx.Err() == nil {
					t.Errorf("Frame(%d) = %v", i, err)
				}
				cancel()
			}
		})
	}
	all.Wait()
}

// children lists the programs this process has started and that still run.
func children(t *testing.T) (names []string) {
	t.Helper()
	tasks, err := filepath.Glob("/proc/self/task/*/children")
	if err != nil || len(tasks) == 0 {
		t.Skip("this system does not tell a process its children")
	}
	for _, p := range tasks {
		b, err := os.ReadFile(p)
		if err != nil {
			continue // the thread has ended
		}
		for _, pid := range bytes.Fields(b) {
			if b, err := os.ReadFile("/proc/" + string(pid) + "/comm"); err == nil {
				names = append(names, strings.TrimSpace(string(b)))
			}
		}
	}
	return names
}

// TestNothingIsLeftRunning: no goroutine and no child outlives a pass that is stopped, cancelled or closed.
// Not parallel: it counts what the whole program runs.
func TestNothingIsLeftRunning(t *testing.T) {
	path := made(t, "a.mp4", "-c:v", "libx264", "-bf", "3", "-pix_fmt", "yuv420p")
	before := runtime.NumGoroutine()
	ctx, cancel := context.WithCancel(context.Background())
	f, err := Open(ctx, path, Options{CacheBytes: 1 << 20})
	if err != nil {
		t.Fatal(err)
	}
	_ = f.Read(ctx, 0, 0, func(Frame) error { return context.Canceled })
	_ = f.Glimpse(ctx, 0, f.Len(), 4, func(Frame) error { return context.Canceled })
	for _, i := range []int{60, 59, 58, 10, 100} {
		if _, err := f.Picture(ctx, i); err != nil {
			t.Fatal(err)
		}
		if _, err := f.Frame(ctx, i); err != nil {
			t.Fatal(err)
		}
	}
	cancel()
	_ = f.Read(ctx, 0, 0, func(Frame) error { return nil })
	f.Close()
	if _, err := f.Frame(context.Background(), 5); err == nil {
		t.Error("Frame of closed footage gives no error")
	}
	for deadline := time.Now().Add(time.Minute); ; time.Sleep(10 * time.Millisecond) {
		now, left := runtime.NumGoroutine(), children(t)
		if now <= before && len(left) == 0 {
			return
		}
		if time.Now().After(deadline) { // generous: what ends, ends at once, but for a busy machine
			t.Fatalf("%d goroutines before, %d after, children %v", before, now, left)
		}
	}
}

// TestMemoryDoesNotGrowWithLength: reading takes no more from the heap, in all, than the frames in flight, however long the clip,
// beside a little for each frame's line in the decoder's log. Not parallel: it measures the whole program.
func TestMemoryDoesNotGrowWithLength(t *testing.T) {
	const (
		frame  = 640 * 480
		flight = readAhead + 3 // waiting, being decoded, being looked at, and one to spare
		log    = 400           // bytes per frame
		once   = 256 << 10     // the log's buffer, the channels, the child's start
	)
	for _, seconds := range []string{"0.2", "2"} {
		path := made(t, "a.mp4", "-c:v", "libx264", "-preset", "ultrafast", "-pix_fmt", "yuv420p", "-vf", "scale=640:480", "-t", seconds)
		f := opened(t, path, Options{})
		var a, b runtime.MemStats
		runtime.ReadMemStats(&a)
		if err := f.Read(context.Background(), 0, 0, func(fr Frame) error { fr.Release(); return nil }); err != nil {
			t.Fatal(err)
		}
		runtime.ReadMemStats(&b)
		if took, limit := b.TotalAlloc-a.TotalAlloc, uint64(flight*frame+log*f.Len()+once); took > limit {
			t.Errorf("reading %d frames took %d bytes, want at most %d", f.Len(), took, limit)
		}
	}
}
