package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"padside/fault"
	"padside/logbook"
	"padside/scene"
	"padside/shoot"
)

const smallShoot = `format = 1
title = "club day"
[[camera]]
name = "small"
pixel_pitch = "13 um"
modes = [ { width = 640, height = 320, rate = "800 Hz" } ]
exposure = { shortest = "1/20000 s", longest = "1/100 s" }
[lens]
focal_length = "20 mm"
widest = 1.4
[place]
range = "6.00(1) m"
height = "0.9 m"
rotated = true
[light]
ev100 = 14
[reference]
kind = "rod"
length = "1.8 m"
marks = 7
range = "5.85(1) m"
[motion]
MOTION
vehicle_length = "0.42 m"
[[question]]
answer = "time_to_speed"
speed = "20 m/s"
within = "3 %"
[[question]]
answer = "gate_speed"
height = "1 m"
within = "3 %"
`

const plannedBottle = `format = 1
kind = "bottle"
volume = "1.25 L"
water = "350 mL"
pressure = "4.4 bar"
nozzle_diameter = "13 mm"
dry_mass = "140 g"
body_diameter = "85 mm"
drag_coefficient = 0.4
`

// planFiles lays out a shoot file whose motion is given one way, and what it names.
func planFiles(t *testing.T, motion string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range map[string]string{"shoot.toml": strings.Replace(smallShoot, "MOTION", motion, 1), "heron.toml": plannedBottle} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return filepath.Join(dir, "shoot.toml")
}

// The plan of a flight file: what it foresees is what comes out when the plan is filmed and the pictures are measured, and the intervals hold the truth. The drawing
// shares nothing with the simulation of heights that the plan is made of.
func TestRehearsalAgrees(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("draws and measures pictures")
	}
	out := filepath.Join(t.TempDir(), "films")
	s, err := Rehearse(context.Background(), planFiles(t, `flight = "heron.toml"`), RehearseOptions{Takes: 2, Dir: out})
	if err != nil {
		t.Fatal(err)
	}
	if s.shoot.Expected.Kind != "bottle" || math.Abs(s.shoot.Expected.Pressure-4.4e5) > 1 {
		t.Errorf("expected %+v", s.shoot.Expected)
	}
	for _, q := range s.Options[0].Questions {
		r := q.Rehearsed
		if q.HalfWidth == nil || r == nil || r.Half == nil || r.Answered != 2 {
			t.Fatalf("%s: %+v", q.Answer, q)
		}
		t.Logf("%s: foreseen %.2g %%, rehearsed %.2g %%, error %.2g %%, %d of 2 held", q.Answer, 100**q.HalfWidth, 100**r.Half, 100**r.Error, r.Covered)
		const near = 1.4 // the middle one of two takes scatters more than that of many, which is within 1.25 (bench/plans)
		if q.Range == nil || q.Range[1] == nil || *r.Half < *q.Range[0]/near || *r.Half > *q.Range[1]*near {
			t.Errorf("%s: foreseen %g, in %v, rehearsed %g", q.Answer, *q.HalfWidth, q.Range, *r.Half)
		}
		if *r.Error > 2**r.Half {
			t.Errorf("%s: error %g with half widths of %g", q.Answer, *r.Error, *r.Half)
		}
	}
	for _, name := range []string{"footage/mode-1-take-2", "launches/mode-1-take-1/answers.json", "launches/mode-1-take-1/streak.png"} {
		if _, err := os.Stat(filepath.Join(out, filepath.FromSlash(name))); err != nil {
			t.Error(err)
		}
	}
	// A launch measured before can tell the motion of the next: here a film of the rehearsal.
	film := filepath.ToSlash(filepath.Join(out, "launches", "mode-1-take-1", "launch.toml"))
	again, err := Plan(context.Background(), planFiles(t, `launch = "`+film+`"`), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, q := range again.Options[0].Questions {
		if q.HalfWidth == nil || math.Abs(math.Log(*q.HalfWidth / *s.Options[0].Questions[i].HalfWidth)) > math.Log(2) {
			t.Errorf("%s from the launch: %+v, from the flight file %+v", q.Answer, q, s.Options[0].Questions[i])
		}
	}
	if again.Options[0].Questions[0].Verdict != shoot.Yes {
		t.Errorf("%+v", again.Options[0].Questions[0])
	}
	planJSON(t, again)
}

// planJSON wants the contract's keys.
func planJSON(t *testing.T, s *PlanSheet) {
	t.Helper()
	text, err := s.JSON()
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Format  string
		Version int
		Options []map[string]any
	}
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	if got.Format != "padside-plan" || got.Version != 1 || len(got.Options) != 1 {
		t.Fatalf("%s", text)
	}
	for _, key := range []string{"camera", "width", "height", "rate_hz", "field_along_m", "field_across_m", "mm_per_pixel", "frames_in_view", "blur_px",
		"exposure_s", "ev100_needed", "iso_needed", "record_s", "depth_of_field_m", "questions"} {
		if _, ok := got.Options[0][key]; !ok {
			t.Errorf("no %s", key)
		}
	}
	question := got.Options[0]["questions"].([]any)[0].(map[string]any)
	for _, key := range []string{"answer", "speed", "half_width", "half_width_range", "verdict", "reason", "change"} {
		if _, ok := question[key]; !ok {
			t.Errorf("no %s in a question", key)
		}
	}
}

// Of a vehicle of which nobody says what it is, no stand-off is given.
func TestPlanWithoutKind(t *testing.T) {
	t.Parallel()
	path := planFiles(t, "acceleration = \"400 m/s2\"\ntop_speed = \"30 m/s\"")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	setting, _, _ := strings.Cut(string(text), "[[question]]") // nothing is to be simulated
	if err := os.WriteFile(path, []byte(setting+"[[question]]\nanswer = \"pictures\"\ncount = 1\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := Plan(context.Background(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if text, err = s.JSON(); err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(text, []byte(`"stand_off_m": null`)) {
		t.Error("a stand-off is given for a vehicle of which nobody says what it is")
	}
}

// What flies is part of a plan's motion: its rehearsal draws that, and a flight file of another kind is refused.
func TestPlanKinds(t *testing.T) {
	t.Parallel()
	for motion, shape := range map[string]scene.Shape{
		"kind = \"motor\"\nacceleration = \"90 m/s2\"\ntop_speed = \"30 m/s\"":   scene.Rocket,
		"kind = \"bottle\"\nacceleration = \"400 m/s2\"\ntop_speed = \"30 m/s\"": scene.Bottle,
		"kind = \"drop\"\nheight = \"1.5 m\"":                                    scene.Ball,
	} {
		f, err := logbook.ReadShoot(planFiles(t, motion))
		if err != nil {
			t.Fatal(err)
		}
		f.Shoot.Questions = []shoot.Question{{Answer: shoot.Pictures, Count: 1}} // nothing is to be simulated
		p, err := f.Shoot.Plan(context.Background(), 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		v := f.Shoot.Film(p.Options[0], 1).Take.Scene.Vehicles[0]
		if v.Shape != shape || v.Falls != (shape == scene.Ball) || shape == scene.Ball && v.Pad-v.Length != 1.5 {
			t.Errorf("%s: %+v", motion, v)
		}
	}
	_, err := Plan(context.Background(), planFiles(t, "kind = \"motor\"\nflight = \"heron.toml\""), Options{})
	var said *fault.Error
	if !errors.As(err, &said) || !strings.Contains(said.Message, "is of a bottle") {
		t.Errorf("a bottle's flight file for a motor: %v", err)
	}
}
