package web_test

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"padside/metrology"
)

// clubDay runs `padside demo` as a new user does, without ffmpeg, and returns its logbook.
func clubDay(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "day")
	demo := func() (string, error) {
		cmd := exec.Command(program(t), "demo", "--no-serve", "--out", dir)
		cmd.Env = append(os.Environ(), "PADSIDE_FFMPEG="+filepath.Join(dir, "none"))
		out, err := cmd.CombinedOutput()
		return string(out), err
	}
	out, err := demo()
	if err != nil {
		t.Fatalf("padside demo: %v\n%s", err, out)
	}
	for _, want := range []string{"interval holds the truth in", "with five fills: which is best?", "by the flight model fitted to all five", "In truth: Teal", "eye protection"} {
		if !strings.Contains(out, want) {
			t.Errorf("padside demo does not say %q:\n%s", want, out)
		}
	}
	for _, name := range []string{"launches/heron-300/launch.toml", "launches/heron-300/answers.json", "launches/heron-300/streak.png", "launches/old-kettle/frame.png",
		"setups/north-mast.toml", "flights/heron.toml", "heats/club-day-heat/heat.toml", "shoots/next-club-day/shoot.toml", "heats/club-day-heat/heat.html"} {
		if _, err := os.Stat(filepath.Join(dir, filepath.FromSlash(name))); err != nil {
			t.Error(err)
		}
	}
	sameAnswers(t, dir)
	// A second run does not write over the first.
	if out, err := demo(); err == nil || !strings.Contains(out, "is not empty") || !strings.Contains(out, "hint: ") {
		t.Errorf("a second demo in the same folder: %v\n%s", err, out)
	}
	return dir
}

// sameAnswers wants the heat's answers to be those of the launches themselves, to the last digit.
func sameAnswers(t *testing.T, dir string) {
	t.Helper()
	read := func(to any, path ...string) {
		t.Helper()
		text, err := os.ReadFile(filepath.Join(append([]string{dir}, path...)...))
		if err == nil {
			err = json.Unmarshal(text, to)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	var heat struct {
		Entries []struct {
			Launch string
			Answer metrology.Answer
		}
	}
	read(&heat, "heats", "club-day-heat", "heat.json")
	for _, e := range heat.Entries {
		var launch struct{ Answers []metrology.Answer }
		name := filepath.Base(filepath.Dir(filepath.FromSlash(e.Launch)))
		read(&launch, "launches", name, "answers.json")
		i := slices.IndexFunc(launch.Answers, func(a metrology.Answer) bool { return a.ID == e.Answer.ID && *a.Speed == *e.Answer.Speed })
		if i < 0 || *launch.Answers[i].Value != *e.Answer.Value || *launch.Answers[i].Interval != *e.Answer.Interval {
			t.Errorf("%s in the heat: %v, %v; by itself %+v", name, *e.Answer.Value, *e.Answer.Interval, launch.Answers)
		}
	}
	if len(heat.Entries) != 5 {
		t.Errorf("%d entries race, want 5", len(heat.Entries))
	}
}

// TestClubDay takes the demo's logbook through the browser: the sweep of five fills, whose best fill is set beside the flight model that drew
// the launches, the heat of four vehicles with its breach, its sheet and board, and the race clip of the four.
func TestClubDay(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("draws and measures nine launches")
	}
	s := serveAs(t, exec.Command(program(t), "serve", clubDay(t), "--no-browser", "--board", "127.0.0.1:0"))
	b := openTab(t, s)

	b.open("/compare?launch=heron-150&launch=heron-225&launch=heron-300&launch=heron-350&launch=heron-400&sweep=water")
	b.wait(`document.querySelectorAll("svg.sweep").length >= 4 && document.querySelector(".together canvas").ariaValueText`)
	b.keepPictures("sweep", ".sweeps")
	// Of the fills from 150 to 400 mL, 274 mL is the fastest at 1.4 m (derived: desk's search through the flight model that drew them).
	type line struct {
		ID       string     `json:"id"`
		Interval [2]float64 `json:"optimum_interval95"`
	}
	for _, l := range eval[[]line](b, `fetch("/api/compare" + location.search).then(r => r.json()).then(v => v.sweep)`) {
		if l.ID == "gate_speed" && (l.Interval[0] > 274e-6 || l.Interval[1] < 274e-6 || l.Interval[1]-l.Interval[0] > 150e-6) {
			t.Errorf("the best fill lies in %g to %g m3, want an interval that holds 274e-6 and tells something", l.Interval[0], l.Interval[1])
		}
	}
	// The flight model fitted to all five: a curve beside the smooth one where it has the answer, and the same best fill more narrowly.
	b.wait(`document.querySelectorAll("polyline.curve.model").length >= 3 && document.querySelector(".by-model")`)
	b.keepPictures("sweep-model", ".sweeps")
	if got := eval[string](b, `document.querySelector(".by-model").innerText`); !strings.Contains(got, "Apogee: best at") {
		t.Errorf("the flight model says %q, want its best fill for the apogee", got)
	}

	b.open("/heats/club-day-heat")
	b.wait(`document.querySelectorAll(".order tbody tr").length === 4`)
	b.keepPictures("heat", "h1")
	if first := eval[string](b, `document.querySelector(".order tbody tr").innerText`); !strings.Contains(first, "Teal") {
		t.Errorf("the first of the heat reads %q, want Teal", first)
	}
	if out := eval[string](b, `document.querySelector(".out").innerText`); !strings.Contains(out, "225 mL") {
		t.Errorf("the breach reads %q, want the 225 mL of water named", out)
	}
	b.open("/heats/club-day-heat/sheet")
	b.wait(`document.querySelector("h1").innerText === "Club day heat"`)
	b.open("/heats/club-day-heat")
	b.wait(`document.querySelectorAll(".order tbody tr").length === 4`)

	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Log("ffmpeg is not installed: the race clip is left out")
		return
	}
	b.write("#race-slow", "10") // a short clip: long ones are drawn by TestRacePlaysInTheBrowser
	b.press("Draw the race")
	b.wait(`document.querySelector(".race video")?.readyState >= 2 && document.querySelector(".race img")?.naturalWidth > 0`)
	b.keepPictures("club-race", ".race")
	if got := eval[string](b, `document.querySelector(".race .finish li").innerText`); !strings.Contains(got, "Teal") {
		t.Errorf("the first line of the finish reads %q, want Teal", got)
	}
	if got := eval[float64](b, `document.querySelectorAll(".race .finish li").length`); got != 4 {
		t.Errorf("%g launches race on the heat's page, want the four with a place", got)
	}
	b.reload() // the race stands in the address
	b.wait(`document.querySelector(".race video")?.readyState >= 1`)
	b.inspect("the heat with its race", allRules) // TestHeatOfTwins and TestRacePlaysInTheBrowser look at either by itself at both widths, on both papers
}
