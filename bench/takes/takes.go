// Package takes holds the drawn launches that the studies of this folder share, filmed as a camera would, and keeps them on disk: drawing
// costs most of a study, and methods are compared on the same files.
package takes

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"

	"padside/scene"
)

// Class is one kind of footage.
type Class struct {
	Key    string // of its folders: Key-seed
	Name   string
	Draw   func(seed uint64) *scene.Take
	Stills bool   // JPEG stills, else H.264
	Lean   string // as the launch file states it; empty: not stated
}

// Classes lists all kinds.
func Classes() []Class {
	return []Class{
		{Key: "bottle1600", Name: "bottle, 1600 fps", Draw: func(s uint64) *scene.Take { return scene.BottleRocket(s, scene.BottleOptions{Rate: 1600}) }},
		{Key: "rail1600", Name: "bottle on a rail, 1600 fps", Draw: onRail, Lean: "0(0.2) deg"},
		{Key: "bottle", Name: "bottle, 1000 to 2000 fps", Draw: func(s uint64) *scene.Take { return scene.BottleRocket(s, scene.BottleOptions{}) }},
		{Key: "motor", Name: "motor, 240 fps", Draw: scene.MotorRocket},
		{Key: "phone", Name: "phone, 30 fps", Draw: scene.PhoneClip30},
		{Key: "burst", Name: "burst, 8 to 10 fps", Draw: scene.StillsBurst, Stills: true},
		{Key: "ball", Name: "ball dropped, 120 fps", Draw: scene.BallDrop},
		{Key: "near", Name: "ball dropped near a tilted phone", Draw: scene.BallDropNear},
	}
}

// onRail is a bottle rocket of 1600 frames a second whose rail was held upright to 0.2 degrees, standard uncertainty: what is left of the errors of speeds
// when the lean is known.
func onRail(seed uint64) *scene.Take {
	t := scene.BottleRocket(seed, scene.BottleOptions{Rate: 1600})
	t.Scene.Vehicles[0].Lean = 0.2 * math.Pi / 180 * rand.New(rand.NewPCG(seed, 0x7261696c)).NormFloat64()
	return t
}

// Only lists the kinds whose key is only or whose name holds it; all where it is empty.
func Only(only string) []Class {
	var out []Class
	for _, c := range Classes() {
		if c.Key == only {
			return []Class{c}
		}
		if strings.Contains(c.Name, only) {
			out = append(out, c)
		}
	}
	return out
}

// Folder is where the take of one seed lies.
func (c Class) Folder(dir string, seed uint64) string {
	return filepath.Join(dir, fmt.Sprintf("%s-%d", c.Key, seed))
}

// Footage is the take's footage, by its path in that folder.
func (c Class) Footage() string {
	if c.Stills {
		return "stills"
	}
	return "take.mp4"
}

// Film writes a take into folder, unless it is there: H.264 at rate factor 16 with two B frames, or JPEG stills.
func (c Class) Film(ctx context.Context, t *scene.Take, folder string) error {
	clip := &scene.ClipOptions{BFrames: 2}
	if c.Stills {
		clip = nil
	}
	return Film(ctx, t.Scene, folder, c.Footage(), clip)
}

// Film writes a scene into folder, unless that was done, as the clip or the folder of stills called
// name: a clip as the options say, JPEG stills if there are none.
func Film(ctx context.Context, s *scene.Scene, folder, name string, clip *scene.ClipOptions) error {
	whole := filepath.Join(folder, "whole") // written last
	if _, err := os.Stat(whole); err == nil {
		return nil
	}
	if err := os.MkdirAll(filepath.Join(folder, "stills"), 0o755); err != nil {
		return err
	}
	var err error
	if clip == nil {
		_, err = scene.WriteStills(ctx, s, filepath.Join(folder, name), scene.StillsOptions{Format: scene.JPEG})
	} else {
		err = scene.WriteClip(ctx, s, filepath.Join(folder, name), *clip)
	}
	if err != nil {
		return err
	}
	return os.WriteFile(whole, nil, 0o644)
}
