package logbook

import (
	"errors"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"padside/fault"
	"padside/motion"
	"padside/shoot"
)

const wholeShoot = `format = 1
title  = "club day, north field"

[[camera]]
name = "hired high-speed"
pixel_pitch = "6.6 um"
modes = [ { width = 1920, height = 1080, rate = "1000 Hz" } ]
readout = { width = 1920, known = [ { rows = 1080, rate = "1000 Hz" }, { rows = 570, rate = "1884 Hz" } ], rows = [ 720, 400 ] }
exposure = { shortest = "5 us", longest = "1/100 s" }
iso = { lowest = 500, highest = 8000 }
memory_frames = 16000

[[camera]]
name = "stills"
pixel_pitch = "4.4 um"
modes = [ { width = 6000, height = 4000 } ]
burst = { rate = "10 Hz", frames = 60, shutter_lag = "55 ms" }

[lens]
focal_length = "25 mm"
widest = 1.4

[place]
range = "6 m"
height = "0.6 m"
tilt = "5 deg"
rotated = true

[light]
ev100 = "bright overcast"

[reference]
kind = "rod"
length = "2 m"
marks = 6
range = "5.80(2) m"

[motion]
acceleration = "500 m/s2"
top_speed = "35 m/s"
vehicle_length = "0.42 m"

[[question]]
answer = "time_to_speed"
speed = "60 mph"
within = "2 %"

[[question]]
answer = "split_speed"
from = "0.5 m"
to = "1 m"
within = "1 %"

[[question]]
answer = "pictures"
count = 3
`

func TestParseShoot(t *testing.T) {
	t.Parallel()
	f, err := ParseShoot([]byte(wholeShoot), filepath.Join("day", "shoot.toml"))
	if err != nil {
		t.Fatal(err)
	}
	s := f.Shoot
	if s.Title != "club day, north field" || s.Light != 13 || s.Lens != (shoot.Lens{FocalLength: 0.025, Widest: 1.4}) || f.Launch != "" || f.Flight != "" {
		t.Errorf("read %+v", s)
	}
	if len(s.Cameras) != 2 || len(s.Cameras[0].Modes) != 3 || len(s.Cameras[1].Modes) != 1 || len(s.Questions) != 3 {
		t.Fatalf("cameras %+v, questions %+v", s.Cameras, s.Questions)
	}
	fast, stills := s.Cameras[0], s.Cameras[1]
	if m := fast.Modes[2]; m.Width != 1920 || m.Height != 400 || math.Abs(m.Rate-2670.6) > 1 || fast.Memory != 16000 || fast.Shortest != 5e-6 || fast.HighestISO != 8000 {
		t.Errorf("camera %+v", fast)
	}
	if stills.Modes[0].Rate != 10 || *stills.Burst != (shoot.Burst{Frames: 60, Lag: 0.055}) {
		t.Errorf("camera %+v, burst %+v", stills, stills.Burst)
	}
	if p := s.Place; p.Range.Value != 6 || p.Range.U != 0 || p.Range.Exact || !p.Rotated || !p.TiltGiven || math.Abs(p.Tilt-5*math.Pi/180) > 1e-12 {
		t.Errorf("place %+v", p)
	}
	if r := s.Reference; r.Range.Value != 5.8 || math.Abs(r.Range.U-0.02) > 1e-12 || r.Marks != 6 {
		t.Errorf("reference %+v", r)
	}
	if s.Expected.Motion != (shoot.Even{Pull: 500, Top: 35}) || s.Expected.Length != 0.42 {
		t.Errorf("motion %+v", s.Expected)
	}
	if q := s.Questions[1]; q != (shoot.Question{Answer: "split_speed", From: 0.5, To: 1, Within: 0.01}) || s.Questions[0].Unit != "mph" || s.Questions[2].Count != 3 || math.Abs(s.Questions[0].Speed-26.8224) > 1e-9 {
		t.Errorf("questions %+v", s.Questions)
	}
}

// A launch or a flight file lies beside the shoot file.
func TestParseShootElsewhere(t *testing.T) {
	t.Parallel()
	text := strings.Replace(wholeShoot, "acceleration = \"500 m/s2\"\ntop_speed = \"35 m/s\"", `flight = "models/heron.toml"`, 1)
	f, err := ParseShoot([]byte(text), filepath.Join("day", "shoot.toml"))
	if err != nil || f.Flight != filepath.Join("day", "models", "heron.toml") || f.Shoot.Expected.Motion != nil {
		t.Errorf("%+v, %v", f, err)
	}
}

// What flies is part of the motion: a motor's pull builds up, and what is dropped falls freely from its height where nothing else is said. A camera may state its shutter.
func TestParseShootKinds(t *testing.T) {
	t.Parallel()
	read := func(old, new string) shoot.Shoot {
		f, err := ParseShoot([]byte(strings.Replace(wholeShoot, old, new, 1)), "shoot.toml")
		if err != nil {
			t.Fatal(err)
		}
		return f.Shoot
	}
	const pull = "acceleration = \"500 m/s2\"\ntop_speed = \"35 m/s\""
	if e := read(pull, "kind = \"motor\"\n"+pull).Expected; e.Kind != motion.Motor || e.Motion != (shoot.Even{Pull: 500, Top: 35, Rise: shoot.MotorRise}) {
		t.Errorf("motor: %+v", e)
	}
	e := read(pull, "kind = \"drop\"\nheight = \"2.4 m\"").Expected
	if e.Kind != motion.Dropped || e.Front() != 2.4 || e.After(1) != 1.4 || math.Abs(e.Motion.At(0.5).Speed-0.5*9.80665) > 1e-9 {
		t.Errorf("drop: %+v", e)
	}
	c := read("memory_frames", "shutter = \"rolling\"\nrow_time = \"9.0(5) us\"\nmemory_frames").Cameras[0]
	if c.Shutter != shoot.Rolling || math.Abs(c.RowTime.Value-9e-6) > 1e-12 || math.Abs(c.RowTime.U-5e-7) > 1e-12 {
		t.Errorf("camera %+v", c)
	}
}

func TestParseShootRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, old, new, want string }{
		{"unknown key", "widest", "widset", `unknown key "widset"`},
		{"no kind", "acceleration = ", "kind = \"balloon\"\nacceleration = ", "no kind of vehicle"},
		{"height of what goes up", "acceleration = ", "height = \"2 m\"\nacceleration = ", "what is dropped"},
		{"no shutter", "memory_frames", "shutter = \"fast\"\nmemory_frames", "no shutter"},
		{"global with a row time", "memory_frames", "shutter = \"global\"\nrow_time = \"9 us\"\nmemory_frames", "has no row_time"},
		{"no unit", `"6.6 um"`, `6.6`, "unit"},
		{"wrong unit", `range = "6 m"`, `range = "6 s"`, "range"},
		{"no lens", "[lens]\nfocal_length = \"25 mm\"\nwidest = 1.4\n", "", "section [lens] is missing"},
		{"zero aperture", "widest = 1.4", "widest = 0", "is not above 0"},
		{"light", "bright overcast", "dusk-ish", `no light called "dusk-ish"`},
		{"two motions", "vehicle_length", "flight = \"f.toml\"\nvehicle_length", "given in 2 ways"},
		{"half a motion", "top_speed = \"35 m/s\"\n", "", "only one of acceleration and top_speed"},
		{"no vehicle", "vehicle_length = \"0.42 m\"\n", "", "has no vehicle_length"},
		{"question", `answer = "split_speed"`, `answer = "altitude"`, `cannot be asked for "altitude"`},
		{"first motion", `answer = "split_speed"`, `answer = "first_motion"`, `cannot be asked for "first_motion"`},
		{"speed missing", "speed = \"60 mph\"\n", "", "time_to_speed needs speed"},
		{"speed too many", "count = 3", "count = 3\nspeed = \"60 mph\"", "pictures has no speed"},
		{"within missing", "to = \"1 m\"\nwithin = \"1 %\"", "to = \"1 m\"", "has no within"},
		{"split", `to = "1 m"`, `to = "0.2 m"`, "has no length"},
		{"readout", `{ rows = 570, rate = "1884 Hz" }`, `{ rows = 1080, rate = "1884 Hz" }`, "must differ in rows"},
		{"burst", "frames = 60", "frames = 0", "a burst needs frames"},
		{"exposures", `shortest = "5 us"`, `shortest = "1 s"`, "longer than the longest"},
		{"iso", "lowest = 500", "lowest = 90000", "higher than the highest"},
		{"one mark", "marks = 6", "marks = 1", "gives no scale"},
		{"reference", `kind = "rod"`, `kind = "plane"`, `no reference of kind "plane"`},
		{"tiny picture", "width = 6000", "width = 2", "cannot be planned"},
		{"tilt", `tilt = "5 deg"`, `tilt = "89 deg"`, "looks past the flight"},
		{"not text", "club day", "club \xff", "not UTF-8"},
	} {
		if !strings.Contains(wholeShoot, c.old) {
			t.Fatalf("%s: %q is not in the text", c.name, c.old)
		}
		_, err := ParseShoot([]byte(strings.Replace(wholeShoot, c.old, c.new, 1)), "shoot.toml")
		var said *fault.Error
		if !errors.As(err, &said) || said.Kind != fault.Request || said.Hint == "" || !strings.Contains(said.Message, c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	for name, cut := range map[string]string{"there is no camera": "[[camera]]", "nothing is asked": "[[question]]"} {
		text := wholeShoot
		for strings.Contains(text, cut) {
			at := strings.Index(text, cut)
			end := strings.Index(text[at:], "\n\n")
			if end < 0 {
				end = len(text) - at
			} else {
				end += 2
			}
			text = text[:at] + text[at+end:]
		}
		if _, err := ParseShoot([]byte(text), "shoot.toml"); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
