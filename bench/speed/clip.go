package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"

	"padside/logbook"
	"padside/scene"
	"padside/staged"
)

const (
	shortName = "launch.mp4"
	longName  = "launch-long.mp4"
	frames    = 1884
	restTurn  = 1000 // frames at rest that are repeated in the long clip
	late      = 1600 // frames by which the launch comes later, so that nearly the whole clip must be read
)

// makeClips draws the clip and its launch file, and the long one, where they are not there yet.
func makeClips(ctx context.Context, dir string, long bool) (string, error) {
	short := filepath.Join(dir, shortName)
	take := scene.BottleRocket(77, scene.BottleOptions{Rate: frames, Frames: frames, Width: 570, Height: 1920})
	take.Scene.Vehicles[0].Start += late / float64(frames)
	if _, err := os.Stat(short); err != nil {
		upright := filepath.Join(dir, "upright.mp4")
		drawn := 0
		err := scene.WriteClip(ctx, take.Scene, upright, scene.ClipOptions{CRF: 12, OnFrame: func() {
			if drawn++; drawn%100 == 0 {
				fmt.Fprintf(os.Stderr, "drawn %d of %d frames\n", drawn, frames)
			}
		}})
		if err != nil {
			return "", err
		}
		// The camera lay on its side: rows of the picture run along the flight.
		if err := convert(ctx, "-i", upright, "-vf", "transpose=1", "-bf", "3", "-crf", "16", short); err != nil {
			return "", err
		}
	}
	if long {
		path := filepath.Join(dir, longName)
		if _, err := os.Stat(path); err != nil {
			again := fmt.Sprintf("loop=loop=%d:size=%d:start=0", 9*frames/restTurn, restTurn)
			if err := convert(ctx, "-i", short, "-vf", again, "-bf", "3", "-crf", "16", "-preset", "veryfast", path); err != nil {
				return "", err
			}
		}
	}
	// The clip was turned clockwise: three more quarter turns set it upright.
	for _, name := range []string{shortName, longName} {
		text := bytes.Replace(staged.LaunchText(take, name, 1), []byte("[footage]\n"), []byte("[footage]\nrotate = 3\n"), 1)
		err := logbook.WriteAtomic(dir, map[string][]byte{name[:len(name)-len(".mp4")] + ".toml": text})
		if err != nil {
			return "", err
		}
	}
	return shortName, nil
}

func convert(ctx context.Context, args ...string) error {
	args = append([]string{"-nostdin", "-loglevel", "error", "-y"}, args...)
	if out, err := exec.CommandContext(ctx, "ffmpeg", args...).CombinedOutput(); err != nil {
		return fmt.Errorf("write clip: %w\n%s", err, out)
	}
	return nil
}
