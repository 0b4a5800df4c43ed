// Command clip measures what making a marked clip costs: CPU seconds for 1,000 frames of the clip,
// everything included from reading the footage to the last byte of H.264, against encoding the very
// same frames alone; and how much memory it needs, for a clip and for one several times as long.
// CPU time of the program and of the ffmpegs it runs, so that a busy machine changes little.
//
//	go run ./bench/clip
//	go run ./bench/clip heron/launch.toml
package main

import (
	"context"
	"flag"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"time"

	"padside/bench/cost"
	"padside/desk"
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
		if err := price(ctx, launch, filepath.Join(dir, "marked"+end)); err != nil {
			return err
		}
	}
	return memory(ctx, launch, dir, longer)
}

// price prints what a clip costs, each frame of the footage shown as often as is chosen.
func price(ctx context.Context, launch, path string) error {
	var from time.Duration
	o := desk.ClipOptions{Out: path}
	o.Progress = func(stage string, done, _ int) {
		if stage == "draw" && from == 0 {
			from = cost.Spent()
		}
	}
	s, err := desk.Clip(ctx, []string{launch}, o)
	if err != nil {
		return err
	}
	drawn := cost.Spent() - from
	f := s.Clips[0].Clip
	alone, err := cost.Encoding(ctx, path, desk.ClipEncoding(path, f.Width, f.Height))
	if err != nil {
		return err
	}
	fmt.Printf("%s: %d frames of %d x %d px, %d of the footage\n", filepath.Base(path), f.Frames, f.Width, f.Height, len(s.Clips[0].Shown))
	cost.Compared("marked clip", f.Frames, drawn, alone)
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
				before = cost.Resident()
			}
		}
		cost.Forget()
		s, err := desk.Clip(ctx, []string{launch}, o)
		if err != nil {
			return err
		}
		f := s.Clips[0].Clip
		slow = f.Slow
		fmt.Printf("%6d frames: largest resident set of this program %d MiB, before the first frame %d MiB\n", f.Frames, cost.Resident(), before)
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
