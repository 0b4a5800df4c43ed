package desk

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"padside/logbook"
	"padside/metrology"
)

// contestOf enters vehicles of footage that has been followed.
func contestOf(t *testing.T, l *logbook.Launch, f *followed, o RaceOptions, lanes ...int) *contest {
	t.Helper()
	if err := o.check(); err != nil {
		t.Fatal(err)
	}
	r := &contest{o: o}
	for _, lane := range lanes {
		if err := r.enter(raceStart{l, f, lane, ""}); err != nil {
			t.Fatal(err)
		}
	}
	return r
}

// halfWritten interrupts a race: it leaves nothing, neither the clip nor a part of it, and an older clip as it was.
func halfWritten(t *testing.T, l *logbook.Launch, f *followed) {
	t.Helper()
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Log("ffmpeg is not installed: no race clip is interrupted")
		return
	}
	out := filepath.Join(t.TempDir(), "out")
	clip := filepath.Join(out, "race.mp4")
	if err := logbook.WriteAtomic(out, map[string][]byte{"race.mp4": []byte("older")}); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	_, err := contestOf(t, l, f, RaceOptions{Clip: clip, Options: Options{Progress: func(stage string, done, total int) {
		if stage == "draw" && done == 20 {
			cancel()
		}
	}}}, 0).run(ctx)
	if ctx.Err() == nil {
		t.Fatalf("the race ended before it was cancelled: %v", err)
	}
	if err == nil {
		t.Error("a cancelled race gives no error")
	}
	if b, _ := os.ReadFile(clip); string(b) != "older" {
		t.Errorf("the clip holds %d bytes, want the older one", len(b))
	}
	if list, _ := os.ReadDir(out); len(list) != 1 {
		t.Errorf("the folder holds %d entries, want the older clip alone", len(list))
	}
}

// unreached races the two vehicles of one footage, named one by one, to a height that neither reaches: there are no places, the photo
// finish is drawn and the text says why.
func unreached(t *testing.T, l *logbook.Launch, f *followed) {
	t.Helper()
	still := filepath.Join(t.TempDir(), "photo.png")
	s, err := contestOf(t, l, f, RaceOptions{Still: still, Finish: "50 m"}, 2, 1).run(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	checkStill(t, still)
	if len(s.Order) != 0 || len(s.Launches) != 2 || s.Launches[0].Lane != 2 || s.Launches[1].Lane != 1 || s.Clip != nil {
		t.Errorf("order %v, launches %+v, clip %v; want no places, lanes 2 and 1, no clip", s.Order, s.Launches, s.Clip)
	}
	for i, a := range s.Times {
		if a.Value != nil || a.Status != metrology.NotReached {
			t.Errorf("launch %d: %s with value %v, want not reached", i+1, a.Status, a.Value)
		}
	}
	var b bytes.Buffer
	if err := s.Text(&b); err != nil || strings.Count(b.String(), "not reached in view") != 2 {
		t.Errorf("the text reads (%v)\n%s", err, &b)
	}
	if err := (&contest{}).enter(raceStart{l, f, 3, ""}); err == nil {
		t.Error("a third vehicle where there are two gave no error")
	}
}
