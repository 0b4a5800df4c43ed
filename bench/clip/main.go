// Command clip measures what making a marked clip costs: CPU seconds for 1,000 frames of the clip,
// everything included from reading the footage to the last byte of H.264, against encoding the very
// same frames alone; and how much memory it needs, for a clip and for one several times as long.
// CPU time of the program and of the ffmpegs it runs, so that a busy machine changes little.
//
//	go run ./bench/clip
//	go run ./bench/clip heron/launch.toml
package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"time"

	"padside/desk"
	"padside/footage"
	"padside/scene"
	"padside/staged"
)

func main() {
	log.SetFlags(0)
	longer := flag.Float64("longer", 6, "how many times as long the second clip is")
	flag.Parse()
	if err := run(context.Background(), flag.Arg(0), *longer); err != nil {
		log.Fatalf("clip: %v", err)
	}
}

func run(ctx context.Context, launch string, longer float64) error {
	dir, err := os.MkdirTemp("", "bench-clip-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	if launch == "" {
		if launch, err = draw(ctx, dir); err != nil {
			return err
		}
	}
	for _, end := range []string{".mp4", ".webm"} {
		if err := cost(ctx, launch, filepath.Join(dir, "marked"+end)); err != nil {
			return err
		}
	}
	return memory(ctx, launch, dir, longer)
}

// cost prints what a clip costs, each frame of the footage shown as often as is chosen.
func cost(ctx context.Context, launch, path string) error {
	var from float64
	o := desk.ClipOptions{Out: path}
	o.Progress = func(stage string, done, _ int) {
		if stage == "draw" && from == 0 {
			from = spent()
		}
	}
	s, err := desk.Clip(ctx, []string{launch}, o)
	if err != nil {
		return err
	}
	drawn := spent() - from
	f := s.Clips[0].Clip
	raw := path + ".raw"
	defer os.Remove(raw)
	if out, err := exec.Command("ffmpeg", "-v", "error", "-i", path, "-pix_fmt", "rgb0", "-f", "rawvideo", raw).CombinedOutput(); err != nil {
		return fmt.Errorf("decode the clip: %w: %s", err, out)
	}
	from = spent()
	if err := encode(ctx, raw, path, f); err != nil {
		return err
	}
	alone := spent() - from
	k := 1000 / float64(f.Frames)
	fmt.Printf("%s: %d frames of %d x %d px, %d of the footage\n", filepath.Base(path), f.Frames, f.Width, f.Height, len(s.Clips[0].Shown))
	fmt.Printf("  marked clip  %6.2f s of CPU for 1,000 frames\n", k*drawn)
	fmt.Printf("  encode alone %6.2f s of CPU for 1,000 frames\n", k*alone)
	fmt.Printf("  ratio        %6.2f\n", drawn/alone)
	return nil
}

// memory prints the largest resident set before the first frame is drawn, after a clip, and after a
// longer one.
func memory(ctx context.Context, launch, dir string, longer float64) error {
	slow := 0.0
	for _, times := range []float64{1, longer} {
		before := 0
		o := desk.ClipOptions{Out: filepath.Join(dir, "m.mp4"), Slow: slow * times}
		o.Progress = func(stage string, _, _ int) {
			if stage == "draw" && before == 0 {
				before = resident()
			}
		}
		forget()
		s, err := desk.Clip(ctx, []string{launch}, o)
		if err != nil {
			return err
		}
		f := s.Clips[0].Clip
		slow = f.Slow
		fmt.Printf("%6d frames: largest resident set of this program %d MiB, before the first frame %d MiB\n", f.Frames, resident(), before)
	}
	return nil
}

// draw draws a launch as the clip of a high-speed camera and returns its launch file.
func draw(ctx context.Context, dir string) (string, error) {
	t := scene.BottleRocket(81, scene.BottleOptions{Rate: 1600, Width: 720, Height: 1280})
	if err := scene.WriteClip(ctx, t.Scene, filepath.Join(dir, "clip.mp4"), scene.ClipOptions{Playback: 30}); err != nil {
		return "", err
	}
	path := filepath.Join(dir, "launch.toml")
	return path, os.WriteFile(path, staged.LaunchText(t, "clip.mp4", 1), 0o644)
}

// encode writes raw frames as the marked clip writes them.
func encode(ctx context.Context, raw, path string, f *desk.RaceFile) error {
	in, err := os.Open(raw)
	if err != nil {
		return err
	}
	defer in.Close()
	e := desk.ClipEncoding(path, f.Width, f.Height)
	return footage.Encode(ctx, path, e, func(_ context.Context, put func([]byte) error) error {
		b := make([]byte, 4*f.Width*f.Height)
		for {
			if _, err := io.ReadFull(in, b); errors.Is(err, io.EOF) {
				return nil
			} else if err != nil {
				return err
			}
			if err := put(b); err != nil {
				return err
			}
		}
	})
}

// spent is the CPU time so far of this program and of the children that have ended, s.
func spent() float64 {
	total := time.Duration(0)
	for _, who := range []int{syscall.RUSAGE_SELF, syscall.RUSAGE_CHILDREN} {
		var u syscall.Rusage
		if syscall.Getrusage(who, &u) == nil {
			total += time.Duration(u.Utime.Nano() + u.Stime.Nano())
		}
	}
	return total.Seconds()
}

// forget sets the largest resident set back to what it is (proc(5), clear_refs).
func forget() { _ = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) } // where that is not allowed the figures are of all so far

// resident is the largest resident set so far, MiB.
func resident() int {
	b, _ := os.ReadFile("/proc/self/status")
	var kib int
	for _, line := range bytes.Split(b, []byte("\n")) {
		if n, _ := fmt.Sscanf(string(line), "VmHWM: %d kB", &kib); n == 1 {
			return kib >> 10
		}
	}
	return 0
}
