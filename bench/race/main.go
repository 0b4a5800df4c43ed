// Command race measures what drawing a race clip costs: CPU seconds for 1,000 frames of the clip, everything included from reading the
// footage to the last byte of H.264, against encoding the very same frames alone. CPU time of the program and of the ffmpegs it
// runs, so that a busy machine changes little.
//
//	go run ./bench/race
//	go run ./bench/race heron/launch.toml kite/launch.toml
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
	slow := flag.Float64("slow", 60, "times slower than life: decides how many frames there are")
	flag.Parse()
	if err := run(context.Background(), flag.Args(), *slow); err != nil {
		log.Fatalf("race: %v", err)
	}
}

func run(ctx context.Context, launches []string, slow float64) error {
	dir, err := os.MkdirTemp("", "bench-race-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	if len(launches) == 0 {
		if launches, err = draw(ctx, dir); err != nil {
			return err
		}
	}
	clip := filepath.Join(dir, "race.mp4")
	var from float64
	o := desk.RaceOptions{Clip: clip, Slow: slow}
	o.Progress = func(stage string, done, _ int) {
		if stage == "draw" && done == 1 {
			from = spent()
		}
	}
	s, err := desk.Race(ctx, launches, o)
	if err != nil {
		return err
	}
	drawn := spent() - from
	raw := filepath.Join(dir, "raw")
	if out, err := exec.Command("ffmpeg", "-v", "error", "-i", clip, "-pix_fmt", "rgb0", "-f", "rawvideo", raw).CombinedOutput(); err != nil {
		return fmt.Errorf("decode the clip: %w: %s", err, out)
	}
	from = spent()
	if err := encode(ctx, raw, filepath.Join(dir, "alone.mp4"), s.Clip); err != nil {
		return err
	}
	alone := spent() - from
	k := 1000 / float64(s.Clip.Frames)
	fmt.Printf("%d launches, %d frames of %d x %d px\n", len(s.Launches), s.Clip.Frames, s.Clip.Width, s.Clip.Height)
	fmt.Printf("race clip    %6.2f s of CPU for 1,000 frames\n", k*drawn)
	fmt.Printf("encode alone %6.2f s of CPU for 1,000 frames\n", k*alone)
	fmt.Printf("ratio        %6.2f\n", drawn/alone)
	fmt.Printf("largest resident set of this program %d MiB\n", resident())
	return nil
}

// draw draws three launches as clips of a high-speed camera and returns their launch files.
func draw(ctx context.Context, dir string) ([]string, error) {
	var out []string
	for i := range 3 {
		t := scene.BottleRocket(uint64(81+i), scene.BottleOptions{Rate: 1600, Width: 400, Height: 960})
		d := filepath.Join(dir, fmt.Sprint(i))
		if err := os.MkdirAll(d, 0o755); err != nil {
			return nil, err
		}
		if err := scene.WriteClip(ctx, t.Scene, filepath.Join(d, "clip.mp4"), scene.ClipOptions{Playback: 30}); err != nil {
			return nil, err
		}
		path := filepath.Join(d, "launch.toml")
		if err := os.WriteFile(path, staged.LaunchText(t, "clip.mp4", uint64(i+1)), 0o644); err != nil {
			return nil, err
		}
		out = append(out, path)
	}
	return out, nil
}

// encode writes raw frames as the race writes them.
func encode(ctx context.Context, raw, path string, f *desk.RaceFile) error {
	in, err := os.Open(raw)
	if err != nil {
		return err
	}
	defer in.Close()
	e := footage.Encoding{Width: f.Width, Height: f.Height, Format: footage.RGBA, Rate: f.RateHz, CRF: 20, BFrames: 2, Streamable: true}
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
