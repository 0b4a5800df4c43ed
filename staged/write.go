package staged

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"time"

	"padside/fault"
	"padside/logbook"
	"padside/scene"
)

// MarkNoise is how far, 1 sigma in px, the marks of a drawn rod are misplaced, as a hand
// would.
const MarkNoise = 0.5

// Write draws the stills of a take and writes its launch file with marks misplaced by a seed. See WriteAs.
func Write(ctx context.Context, dir, name string, t *scene.Take, marks uint64, progress func(stage string, done, total int)) (string, error) {
	return WriteAs(ctx, dir, name, Shot{Take: t, Text: LaunchText(t, Path(name), marks)}, progress)
}

// Shot is a take to be laid out.
type Shot struct {
	Take *scene.Take
	Text []byte        // of its launch file
	Clip bool          // a clip coded between frames, with two B frames, as cameras that film write them; else stills
	Tick time.Duration // to which the times of stills are cut; 0: 1 ms
}

// ClipPath is where a launch file of a Shot that is a clip finds it.
func ClipPath(name string) string { return Path(name) + "/clip.mp4" }

// WriteAs draws a shot under dir/footage and writes its launch file, whose path it returns. progress may be nil.
func WriteAs(ctx context.Context, dir, name string, s Shot, progress func(stage string, done, total int)) (string, error) {
	stills, launch := filepath.Join(dir, "footage", name), filepath.Join(dir, "launches", name)
	for _, folder := range []string{stills, launch} {
		if err := os.MkdirAll(folder, 0o755); err != nil {
			return "", &fault.Error{Kind: fault.Request, Message: "cannot make the folder " + folder + ": " + err.Error(), Hint: "choose a folder you may write to", Cause: err}
		}
	}
	drawn := func() {}
	if progress != nil {
		var one sync.Mutex // frames are drawn by several goroutines
		done, frames := 0, s.Take.Scene.Frames()
		drawn = func() {
			one.Lock()
			defer one.Unlock()
			done++
			progress("draw", done, frames)
		}
	}
	var err error
	if s.Clip {
		err = scene.WriteClip(ctx, s.Take.Scene, filepath.Join(stills, "clip.mp4"), scene.ClipOptions{BFrames: 2, Turned: s.Take.Scene.Camera.Readout.Turned(), OnFrame: drawn})
	} else {
		_, err = scene.WriteStills(ctx, s.Take.Scene, stills, scene.StillsOptions{Format: scene.JPEG, Tick: s.Tick, OnFrame: drawn})
	}
	if err != nil {
		return "", fmt.Errorf("draw %s: %w", name, err)
	}
	return filepath.Join(launch, "launch.toml"), logbook.WriteAtomic(launch, map[string][]byte{"launch.toml": s.Text})
}

// Path is where a launch file written by Write finds its stills.
func Path(name string) string { return "../../footage/" + name }
