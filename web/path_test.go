package web_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"padside/logbook"
	"padside/scene"
	"padside/staged"
)

// mostActions is how many things a new user may have to do from the footage to the answer.
const mostActions = 8

// TestNewUsersPath goes from dropping a clip on an empty logbook to reading an answer, and counts what a hand has to do.
// The clip is high-speed footage that plays at 30 Hz, as such cameras write it.
func TestNewUsersPath(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("drives a real browser")
	}
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("ffmpeg is not installed")
	}
	clip := filepath.Join(t.TempDir(), "heron_climb.mp4")
	take := ploverTake()
	if err := scene.WriteClip(t.Context(), take.Scene, clip, scene.ClipOptions{Playback: 30}); err != nil {
		t.Fatal(err)
	}
	rod, err := logbook.ParseLaunch(staged.LaunchText(take, clip, 1), "launch.toml")
	if err != nil {
		t.Fatal(err)
	}
	first, last := rod.Scale.Marks[0], rod.Scale.Marks[len(rod.Scale.Marks)-1]

	dir := filepath.Join(t.TempDir(), "book")
	b := openTab(t, serve(t, dir))
	b.wait(`document.querySelector(".begin")?.offsetParent`)
	start := time.Now()
	actions := 0
	do := func(what string, act func()) {
		actions++
		act()
		t.Logf("%d. %s (%.1f s)", actions, what, time.Since(start).Seconds())
	}
	do("drop the clip", func() {
		b.drop(clip)
		b.wait(`location.pathname.startsWith("/setup/") && document.querySelector(".stage img")?.complete`)
	})
	do("say that the rate is known", func() {
		b.choose("#basis", "rate")
	})
	do("write the rate", func() { b.write("#time-rate", "1000 Hz") })
	do("mark the foot of the rod", func() {
		b.placeMark(first.X, first.Y)
		b.wait(`document.querySelectorAll(".marks tbody tr").length === 1`)
	})
	do("mark its top", func() {
		b.placeMark(last.X, last.Y)
		b.wait(`document.querySelectorAll(".marks tbody tr").length === 2`)
	})
	do("write how high that is", func() {
		b.write(".marks tbody tr:nth-child(2) input.at", fmt.Sprintf("%g m", last.At.Value))
		b.wait(`document.querySelector(".kept").textContent === "All is kept."`)
	})
	b.keepPictures("path-setup", "#time-shutter")
	do("measure", func() {
		b.press("Measure this launch")
		b.wait(`location.pathname.startsWith("/launch/")`)
		b.wait(`/\d m\/s was the highest speed|Reached at least \d/.test(document.body.innerText.replaceAll(",", "").replace("²", ""))`)
	})
	b.keepPictures("path-launch", "h1")
	b.keepPictures("path-answers", ".answers")
	if actions > mostActions {
		t.Errorf("%d actions, want at most %d", actions, mostActions)
	}
	kept, err := filepath.Glob(filepath.Join(dir, "launches", "*", "answers.json"))
	if err != nil || len(kept) != 1 {
		t.Fatalf("answers kept: %v, %v", kept, err)
	}
	text, err := os.ReadFile(kept[0])
	if err != nil || !strings.Contains(string(text), `"peak_speed"`) {
		t.Errorf("answers.json holds no peak speed, %v", err)
	}
}
