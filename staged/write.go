package staged

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync"

	"padside/fault"
	"padside/logbook"
	"padside/scene"
)

// MarkNoise is how far, 1 sigma in px, the marks of a drawn rod are misplaced, as a hand
// would.
const MarkNoise = 0.5

// Write draws the stills of a take and writes its launch file with marks misplaced by a seed. See WriteAs.
func Write(ctx context.Context, dir, name string, t *scene.Take, marks uint64, progress func(stage string, done, total int)) (string, error) {
	return WriteAs(ctx, dir, name, t, LaunchText(t, Path(name), marks), progress)
}

// WriteAs draws the stills of a take under dir/footage and writes its launch file, text, whose path it returns. progress may be nil.
func WriteAs(ctx context.Context, dir, name string, t *scene.Take, text []byte, progress func(stage string, done, total int)) (string, error) {
	stills, launch := filepath.Join(dir, "footage", name), filepath.Join(dir, "launches", name)
	for _, folder := range []string{stills, launch} {
		if err := os.MkdirAll(folder, 0o755); err != nil {
			return "", &fault.Error{Kind: fault.Request, Message: "cannot make the folder " + folder + ": " + err.Error(), Hint: "choose a folder you may write to", Cause: err}
		}
	}
	o := scene.StillsOptions{Format: scene.JPEG}
	if progress != nil {
		var one sync.Mutex // frames are drawn by several goroutines
		drawn, frames := 0, t.Scene.Frames()
		o.OnFrame = func() {
			one.Lock()
			defer one.Unlock()
			drawn++
			progress("draw", drawn, frames)
		}
	}
	if _, err := scene.WriteStills(ctx, t.Scene, stills, o); err != nil {
		return "", fmt.Errorf("draw %s: %w", name, err)
	}
	return filepath.Join(launch, "launch.toml"), logbook.WriteAtomic(launch, map[string][]byte{"launch.toml": text})
}

// Path is where a launch file written by Write finds its stills.
func Path(name string) string { return "../../footage/" + name }
