// Command race measures what drawing a race clip costs: CPU seconds for 1,000 frames of the clip, everything included from reading the
// footage to the last byte of H.264, against encoding the very same frames alone. CPU time of the program and of the ffmpegs it
// runs, so that a busy machine changes little.
//
//	go run ./bench/race
//	go run ./bench/race heron/launch.toml kite/launch.toml
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
	var from time.Duration
	o := desk.RaceOptions{Clip: clip, Slow: slow}
	o.Progress = func(stage string, done, _ int) {
		if stage == "draw" && done == 1 {
			from = cost.Spent()
		}
	}
	s, err := desk.Race(ctx, launches, o)
	if err != nil {
		return err
	}
	drawn := cost.Spent() - from
	alone, err := cost.Encoding(ctx, clip, desk.ClipEncoding(clip, s.Clip.Width, s.Clip.Height))
	if err != nil {
		return err
	}
	fmt.Printf("%d launches, %d frames of %d x %d px\n", len(s.Launches), s.Clip.Frames, s.Clip.Width, s.Clip.Height)
	cost.Compared("race clip", s.Clip.Frames, drawn, alone)
	fmt.Printf("largest resident set of this program %d MiB\n", cost.Resident())
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
