// Command accuracy films drawn launches whose truth is known, measures them from their pictures alone, as a
// user would (marks of the rod misplaced by half a pixel, the vehicle found by itself, first motion unknown),
// and prints how far the answers err and how often the 95 % intervals hold the truth, as tables in Markdown.
//
//	go run ./bench/accuracy -seeds 12
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"padside/desk"
	"padside/logbook"
	"padside/scene"
)

// class is one kind of footage.
type class struct {
	name   string
	draw   func(seed uint64) *scene.Take
	stills bool
}

func classes() []class {
	return []class{
		{name: "bottle, 1600 fps", draw: func(s uint64) *scene.Take { return scene.BottleRocket(s, scene.BottleOptions{Rate: 1600}) }},
		{name: "bottle, 1000 to 2000 fps", draw: func(s uint64) *scene.Take { return scene.BottleRocket(s, scene.BottleOptions{}) }},
		{name: "motor, 240 fps", draw: scene.MotorRocket},
		{name: "phone, 30 fps", draw: scene.PhoneClip30},
		{name: "burst, 8 to 10 fps", draw: scene.StillsBurst, stills: true},
		{name: "ball dropped, 120 fps", draw: scene.BallDrop},
		{name: "ball dropped near a tilted phone", draw: scene.BallDropNear},
	}
}

func main() {
	seeds := flag.Int("seeds", 12, "takes per class")
	first := flag.Uint64("first", 500, "first seed")
	only := flag.String("only", "", "only classes whose name holds this")
	dir := flag.String("keep", "", "keep footage and answers in this folder")
	verbose := flag.Bool("v", false, "print every answer that misses, and every take's time")
	flag.Parse()
	if err := run(*seeds, *first, *only, *dir, *verbose); err != nil {
		fmt.Fprintln(os.Stderr, "accuracy:", err)
		os.Exit(1)
	}
}

func run(seeds int, first uint64, only, dir string, verbose bool) error {
	ctx := context.Background()
	if dir == "" {
		temporary, err := os.MkdirTemp("", "padside-accuracy-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(temporary)
		dir = temporary
	}
	fmt.Println(heading)
	for _, c := range classes() {
		if !strings.Contains(c.name, only) {
			continue
		}
		t := newTable(c.name)
		for i := range seeds {
			seed := first + uint64(i)
			begin := time.Now()
			take := c.draw(seed)
			m, err := shoot(ctx, take, c, filepath.Join(dir, fmt.Sprintf("%s-%d", strings.Fields(c.name)[0], seed)), seed)
			if err != nil {
				t.lost = append(t.lost, fmt.Sprintf("seed %d: %v", seed, err))
				continue
			}
			t.add(seed, take, m, verbose)
			if verbose {
				fmt.Fprintf(os.Stderr, "%s seed %d: %.1f s\n", c.name, seed, time.Since(begin).Seconds())
			}
		}
		t.print()
	}
	return nil
}

// shoot films a take and measures it.
func shoot(ctx context.Context, t *scene.Take, c class, dir string, seed uint64) (*desk.Measurement, error) {
	footage := "take.mp4"
	if c.stills {
		footage = "stills"
	}
	if err := os.MkdirAll(filepath.Join(dir, "stills"), 0o755); err != nil {
		return nil, err
	}
	var err error
	if c.stills {
		_, err = scene.WriteStills(ctx, t.Scene, filepath.Join(dir, footage), scene.StillsOptions{Format: scene.JPEG})
	} else {
		err = scene.WriteClip(ctx, t.Scene, filepath.Join(dir, footage), scene.ClipOptions{BFrames: 2})
	}
	if err != nil {
		return nil, err
	}
	if err := logbook.WriteAtomic(dir, map[string][]byte{"launch.toml": desk.LaunchText(t, footage, seed)}); err != nil {
		return nil, err
	}
	m, err := desk.Measure(ctx, filepath.Join(dir, "launch.toml"), desk.Options{Seed: seed})
	if err != nil {
		return nil, err
	}
	return m, os.RemoveAll(filepath.Join(dir, footage))
}
