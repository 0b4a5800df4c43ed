package desk

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"padside/logbook"
	"padside/scene"
	"padside/staged"
)

// reel is a take whose stills are drawn once for all tests of the package that measure it. Tests write launch files of their own.
type reel struct {
	make  func() *scene.Take
	once  sync.Once
	take  *scene.Take
	dir   string // holds the folders stills and launch
	files []string
	err   error

	ask      sync.Once
	path     string // of the launch file that was measured
	from     *followed
	answered *Measurement
}

// plovers are two launches of one bottle from one setup, with 250 and 350 mL; pair is two vehicles side by side.
var (
	plovers = [2]reel{{make: func() *scene.Take { return ploverTake(41, 0.25e-3) }}, {make: func() *scene.Take { return ploverTake(42, 0.35e-3) }}}
	pair    = reel{make: func() *scene.Take {
		return scene.BottleRocket(31, scene.BottleOptions{Rate: 1000, Width: 400, Height: 800, Lanes: 2})
	}}
)

func ploverTake(seed uint64, water float64) *scene.Take {
	b := plover
	b.Water = water
	take := scene.BottleRocket(seed, scene.BottleOptions{Rate: 1000, Width: 320, Height: 800, SameSetup: true, SetupSeed: 5, Bottle: &b})
	take.Conditions = []scene.Condition{{Key: "water", Value: fmt.Sprintf("%.0f(2) mL", 1e6*water)}}
	return take
}

func TestMain(m *testing.M) {
	code := m.Run()
	for _, r := range []*reel{&plovers[0], &plovers[1], &pair} {
		os.RemoveAll(r.dir)
	}
	os.Exit(code)
}

// film draws the take unless that was done. What it returns is shared: it is read and never changed.
func (r *reel) film(t *testing.T) *scene.Take {
	t.Helper()
	if testing.Short() {
		t.Skip("draws and measures a whole launch")
	}
	r.once.Do(func() {
		if r.dir, r.err = os.MkdirTemp("", "padside-reel-"); r.err != nil {
			return
		}
		if r.err = os.Mkdir(r.stills(), 0o755); r.err != nil {
			return
		}
		r.take = r.make()
		r.files, r.err = scene.WriteStills(t.Context(), r.take.Scene, r.stills(), scene.StillsOptions{Format: scene.JPEG})
		for i := range r.files {
			r.files[i] = filepath.Join(r.stills(), filepath.Base(r.files[i]))
		}
	})
	if r.err != nil {
		t.Fatal(r.err)
	}
	return r.take
}

func (r *reel) stills() string { return filepath.Join(r.dir, "stills") }

// launch films the take and writes a launch file of it, its marks misplaced by a seed, with lines before the first.
func (r *reel) launch(t *testing.T, marks uint64, lines ...string) string {
	t.Helper()
	r.film(t)
	return r.write(t, filepath.Join(t.TempDir(), "launch"), marks, lines...)
}

// measured measures the take once for all tests that ask something of the same answers, by a launch
// file without further lines whose marks are misplaced by seed 1. What it returns is shared: it is
// read and never changed.
func (r *reel) measured(t *testing.T) *Measurement {
	t.Helper()
	r.film(t)
	r.ask.Do(func() {
		r.path = r.write(t, filepath.Join(r.dir, "launch"), 1)
		var l *logbook.Launch
		if l, r.err = logbook.ReadLaunch(r.path); r.err != nil {
			return
		}
		if r.from, r.err = followLaunch(context.Background(), l, Options{}); r.err != nil {
			return
		}
		if r.answered, r.err = r.from.answer(context.Background(), l, Options{}); r.err != nil {
			r.answered = nil
		}
	})
	if r.answered == nil {
		t.Fatalf("the take was not measured: %v", r.err)
	}
	return r.answered
}

// write writes a launch file of the take into a folder.
func (r *reel) write(t *testing.T, dir string, marks uint64, lines ...string) string {
	t.Helper()
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	var text bytes.Buffer
	for _, l := range lines {
		fmt.Fprintln(&text, l)
	}
	text.Write(staged.LaunchText(r.take, filepath.ToSlash(r.stills()), marks))
	path := filepath.Join(dir, "launch.toml")
	if err := os.WriteFile(path, text.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}
