package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"padside/logbook"
	"padside/scene"
	"padside/staged"
)

// class is one kind of clip that is measured.
type class struct {
	key, name string // for -clips, and of the row
	clip      string // its file
}

var (
	late = class{"late", "1884 frames, launched late", "launch.mp4"}
	// The vehicle leaves after 32 frames and is in view for 540: all of it is decoded, followed and matched.
	moving = class{"moving", "600 frames, all motion", "moving.mp4"}
	long   = class{"long", "the first, ten times as long", "launch-long.mp4"}
)

const (
	frames     = 1884
	restTurn   = 1000 // frames at rest that are repeated in the long clip
	delay      = 1600 // frames by which the launch comes later, so that nearly the whole clip must be read
	movingRate = 6000 // Hz: so many that a bottle takes 540 frames to leave the picture
)

// take is what a class shows.
func (c class) take() *scene.Take {
	if c == moving {
		t := scene.BottleRocket(77, scene.BottleOptions{Rate: movingRate, Frames: 600, Width: 570, Height: 1920})
		t.Scene.Camera.Exposure = 1 / 8000. // shorter than a frame
		return t
	}
	t := scene.BottleRocket(77, scene.BottleOptions{Rate: frames, Frames: frames, Width: 570, Height: 1920})
	t.Scene.Vehicles[0].Start += delay / float64(frames)
	return t
}

// classOf returns the class of a name of -clips.
func classOf(key string) (class, bool) {
	for _, c := range []class{late, moving, long} {
		if c.key == key {
			return c, true
		}
	}
	return class{}, false
}

// make draws the clip where it is not there yet, and writes its launch file.
func (c class) make(ctx context.Context, dir string) error {
	path, t := filepath.Join(dir, c.clip), c.take()
	if _, err := os.Stat(path); err != nil {
		if err := c.film(ctx, dir, t); err != nil {
			return err
		}
	}
	// The clip was turned clockwise: three more quarter turns set it upright.
	text := bytes.Replace(staged.LaunchText(t, c.clip, 1), []byte("[footage]\n"), []byte("[footage]\nrotate = 3\n"), 1)
	return logbook.WriteAtomic(dir, map[string][]byte{c.launch(): text})
}

// launch is the name of the launch file.
func (c class) launch() string { return strings.TrimSuffix(c.clip, ".mp4") + ".toml" }

func (c class) film(ctx context.Context, dir string, t *scene.Take) error {
	path := filepath.Join(dir, c.clip)
	if c == long { // made from the first
		again := fmt.Sprintf("loop=loop=%d:size=%d:start=0", 9*frames/restTurn, restTurn)
		return convert(ctx, "-i", filepath.Join(dir, late.clip), "-vf", again, "-bf", "3", "-crf", "16", "-preset", "veryfast", path)
	}
	upright := filepath.Join(dir, "upright.mp4")
	defer os.Remove(upright)
	drawn := 0
	err := scene.WriteClip(ctx, t.Scene, upright, scene.ClipOptions{CRF: 12, OnFrame: func() {
		if drawn++; drawn%100 == 0 {
			fmt.Fprintf(os.Stderr, "drawn %d of %d frames\n", drawn, t.Scene.Frames())
		}
	}})
	if err != nil {
		return err
	}
	// The camera lay on its side: rows of the picture run along the flight.
	return convert(ctx, "-i", upright, "-vf", "transpose=1", "-bf", "3", "-crf", "16", path)
}

func convert(ctx context.Context, args ...string) error {
	args = append([]string{"-nostdin", "-loglevel", "error", "-y"}, args...)
	if out, err := exec.CommandContext(ctx, "ffmpeg", args...).CombinedOutput(); err != nil {
		return fmt.Errorf("write clip: %w\n%s", err, out)
	}
	return nil
}
