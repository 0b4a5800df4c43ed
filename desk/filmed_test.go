package desk

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"padside/scene"
	"padside/staged"
)

// reel is a take whose stills are drawn once for all tests of the package that measure it. Tests write launch files of their own.
type reel struct {
	make  func() *scene.Take
	once  sync.Once
	take  *scene.Take
	dir   string
	files []string
	err   error
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
		r.take = r.make()
		r.files, r.err = scene.WriteStills(t.Context(), r.take.Scene, r.dir, scene.StillsOptions{Format: scene.JPEG})
		for i := range r.files {
			r.files[i] = filepath.Join(r.dir, filepath.Base(r.files[i]))
		}
	})
	if r.err != nil {
		t.Fatal(r.err)
	}
	return r.take
}

// launch films the take and writes a launch file of it, its marks misplaced by a seed, with lines before the first.
func (r *reel) launch(t *testing.T, marks uint64, lines ...string) string {
	t.Helper()
	take := r.film(t)
	dir := filepath.Join(t.TempDir(), "launch")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	var text bytes.Buffer
	for _, l := range lines {
		fmt.Fprintln(&text, l)
	}
	text.Write(staged.LaunchText(take, filepath.ToSlash(r.dir), marks))
	path := filepath.Join(dir, "launch.toml")
	if err := os.WriteFile(path, text.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}
