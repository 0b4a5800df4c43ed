package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image/png"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"padside/logbook"
	"padside/metrology"
	"padside/scene"
)

// TestMeasureDrawnLaunch measures a drawn bottle rocket from its pictures alone: the answers
// hold the truth, the files are as the contract has them, and the same seed gives the same bytes.
func TestMeasureDrawnLaunch(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	m, take := plovers[0].measured(t), plovers[0].take
	beside, err := m.besideTruth(take.Known())
	if err != nil {
		t.Fatal(err)
	}
	// The answers of one launch share its errors, so that they miss together: at 95 % for each,
	// fewer than four in five held by one launch is far beyond chance for independent sources.
	if beside.all < 5 || 5*beside.held < 4*beside.all {
		t.Errorf("%d of %d intervals hold the truth", beside.held, beside.all)
	}
	out := filepath.Join(t.TempDir(), "out")
	if err := m.Keep(out); err != nil {
		t.Fatal(err)
	}
	checkKept(t, out)

	// By another spelling of its path it is the same launch.
	again, err := Measure(ctx, filepath.Dir(plovers[0].path)+"/../launch/launch.toml", Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	first, _ := m.Sheet.JSON()
	second, _ := again.Sheet.JSON()
	if !bytes.Equal(first, second) {
		t.Error("the same launch with the same seed gives other answers")
	}
}

// TestMeasureTwoLanes measures two bottle rockets side by side: each lane has its own answers and streak.
func TestMeasureTwoLanes(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	path := pair.launch(t, 2)
	take := pair.take
	l, err := logbook.ReadLaunch(path)
	if err != nil {
		t.Fatal(err)
	}
	f := raceLanes(t, path, take) // followed once for all that is asked of it
	m, err := f.answer(ctx, l, Options{})
	if err != nil {
		t.Fatal(err)
	}
	beside, err := m.besideTruth(take.Known())
	if err != nil {
		t.Fatal(err)
	}
	if beside.all < 10 || 5*beside.held < 4*beside.all {
		t.Errorf("%d of %d intervals hold the truth", beside.held, beside.all)
	}
	lanes := map[int]int{}
	for _, a := range m.Sheet.Answers {
		lanes[a.Lane]++
	}
	if len(lanes) != 2 || lanes[1] != lanes[2] {
		t.Errorf("answers by lane: %v", lanes)
	}
	out := filepath.Join(t.TempDir(), "out")
	if err := m.Keep(out); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"streak.png", "streak-lane-2.png"} {
		if info, err := os.Stat(filepath.Join(out, name)); err != nil || info.Size() == 0 {
			t.Errorf("%s: %v", name, err)
		}
	}
	halfWritten(t, l, f)
	unreached(t, l, f)
}

// raceLanes races two lanes of one clip: by a height that both pass, in the order in which they truly passed it, unless their intervals leave that open. It returns
// what was followed, for both at once.
func raceLanes(t *testing.T, path string, take *scene.Take) *followed {
	t.Helper()
	dir := t.TempDir()
	file := filepath.Join(dir, "heat.toml")
	text := fmt.Sprintf("format = 1\n[question]\nanswer = \"gate_crossing\"\nheight = \"0.8 m\"\n[[entry]]\nlaunch = %q\nlane = 2\n[[entry]]\nlaunch = %q\nlane = 1\n", filepath.ToSlash(path), filepath.ToSlash(path))
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	seen := map[string]*followed{}
	s, err := heat(context.Background(), file, HeatOptions{}, seen)
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range s.Entries {
		f := take.Flights[e.Lane-1]
		at, _ := f.HeightReached(0.8)
		truth := at - f.FirstMotion
		if e.Standing != Classified || e.Lane != 2-i || e.Vehicle != take.Vehicles[e.Lane-1] {
			t.Fatalf("entry %d: %+v", i+1, e)
		}
		if u := *e.Answer.U; math.Abs(*e.Answer.Value-truth) > 4*u {
			t.Errorf("lane %d passed 0.8 m after %.5f s, measured %.5f(%.5f)", e.Lane, truth, *e.Answer.Value, u)
		}
	}
	if len(s.Warnings) > 0 && s.Warnings[0].Code == "setups-differ" {
		t.Error("one camera saw both lanes, and two setups are named")
	}
	if err := s.Keep(filepath.Join(dir, "out")); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"heat.html", "heat.json", "results.csv"} {
		if info, err := os.Stat(filepath.Join(dir, "out", name)); err != nil || info.Size() == 0 {
			t.Errorf("%s: %v", name, err)
		}
	}
	if len(seen) != 1 {
		t.Fatalf("one clip was followed %d times", len(seen))
	}
	return slices.Collect(maps.Values(seen))[0]
}

func checkKept(t *testing.T, dir string) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, "answers.json"))
	if err != nil {
		t.Fatal(err)
	}
	var sheet map[string]any
	if err := json.Unmarshal(text, &sheet); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"format", "version", "program", "seed", "launch", "footage", "answers", "trace", "history", "warnings"} {
		if sheet[key] == nil {
			t.Errorf("answers.json lacks %q", key)
		}
	}
	for _, a := range sheet["answers"].([]any) {
		answer := a.(map[string]any)
		_, value := answer["value"]
		_, interval := answer["interval95"]
		if measured := answer["status"] == string(metrology.Measured); value != measured || interval != measured {
			t.Errorf("answer %v: value %v, interval %v", answer["id"], value, interval)
		}
	}
	for _, name := range []string{"trace.csv", "history.csv"} {
		if b, err := os.ReadFile(filepath.Join(dir, name)); err != nil || bytes.Count(b, []byte("\n")) < 20 {
			t.Errorf("%s: %d lines, %v", name, bytes.Count(b, []byte("\n")), err)
		}
	}
	f, err := os.Open(filepath.Join(dir, "streak.png"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if c, err := png.DecodeConfig(f); err != nil || c.Width != streakWidth || c.Height != streakHeight {
		t.Errorf("streak.png is %d x %d, %v", c.Width, c.Height, err)
	}
}

func TestDemoLeavesAFullFolderAlone(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	kept := filepath.Join(dir, "mine.txt")
	if err := os.WriteFile(kept, []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := Demo(context.Background(), DemoOptions{Dir: dir, Out: io.Discard}); err == nil {
		t.Error("the demo writes into a folder that is not empty")
	}
	if list, err := os.ReadDir(dir); err != nil || len(list) != 1 {
		t.Errorf("the folder holds %d entries, %v", len(list), err)
	}
}
