package logbook

import (
	"errors"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"padside/fault"
)

const full = `format  = 1
title   = "Heron, 350 mL at 5.2 bar"
vehicle = "Heron"
date    = 2026-05-16
setup   = "north-mast"

[conditions]
water = "350 mL"
pressure = "5.2 bar"
fins = "three, balsa"
air_temperature = "18 degC"
elevation = "40 m"
latitude = "52.1 deg"

[footage]
path = "shots/heron-350.mp4"
rotate = -1
from = 2
to = 400

[footage.time]
basis = "rate"
rate = "30000/1001 fps"
exposure = "1/8000 s"
row_time = "0 us"

[scale]
kind = "rod"
marks = [
  { at = "0 m", x = 512.0, y = 1012.0 },
  { at = "0.4 m", x = 511.2, y = 870.5 },
]
mark_uncertainty = "0.5 px"
rod_range = "8.00(2) m"
flight_range = "8.15(5) m"

[camera]
focal_length = "16 mm"
pixel_pitch = "5.86 um"
tilt = "7(1) deg"

[trace]
frame = 12
box = [480, 860, 64, 120]
steady = [40, 900, 120, 120]
marks = [ { frame = 30, x = 500.2, y = 700.9 } ]

[questions]
speeds = ["100 km/h", "60 mph"]
gates = { every = "0.2 m", to = "2 m" }
`

func TestParseLaunch(t *testing.T) {
	t.Parallel()
	l, err := ParseLaunch([]byte(full), filepath.Join("club", "launch.toml"))
	if err != nil {
		t.Fatal(err)
	}
	const tiny = 1e-12 // rounding of one conversion
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"latitude", *l.Latitude, 52.1 * math.Pi / 180},
		{"elevation", *l.Elevation, 40},
		{"air temperature", *l.AirTemperature, 291.15},
		{"water", l.Conditions[0].Quantity.Value, 350e-6},
		{"rate", l.Time.Rate.Value, 30000.0 / 1001},
		{"exposure", l.Time.Exposure, 1.0 / 8000},
		{"flight range's uncertainty", l.Scale.FlightRange.U, 0.05},
		{"second mark", l.Scale.Marks[1].At.Value, 0.4},
		{"default lean", l.Scale.Lean.U, 2 * math.Pi / 180},
		{"pixel pitch", l.Camera.PixelPitch.Value, 5.86e-6},
		{"tilt", l.Camera.Tilt.U, math.Pi / 180},
		{"box", l.Trace.Box[3], 120},
		{"lowest speed", l.Questions.Speeds[0].Value, 26.8224},
		{"last gate", l.Questions.Gates[9], 2},
	} {
		if math.Abs(c.got-c.want) > tiny*math.Abs(c.want) {
			t.Errorf("%s = %v, want %v", c.name, c.got, c.want)
		}
	}
	if got := l.Time.RateExact.RatString(); got != "30000/1001" {
		t.Errorf("exact rate = %s, want 30000/1001", got)
	}
	if got, want := l.Footage.Path, filepath.Join("club", "shots", "heron-350.mp4"); got != want {
		t.Errorf("path = %q, want %q", got, want)
	}
	if l.Footage.Rotate != 3 || l.Footage.To != 400 || l.Trace.Lanes != 1 || !l.Trace.Follow || len(l.Questions.Gates) != 10 || l.Date != "2026-05-16" || l.Conditions[2].Text != "three, balsa" {
		t.Errorf("launch = %+v", l)
	}
}

// TestBadLaunch changes one thing in a good file: the message must begin with file and line
// and say what is wrong, the hint what to do.
func TestBadLaunch(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, old, new, message, hint string }{
		{"unknown key", `row_time = "0 us"`, `rowtime = "0 us"`, `launch.toml:25: unknown key "rowtime"`, `"row_time"`},
		{"unknown section", `[trace]`, `[tracing]`, `launch.toml:42: unknown key "tracing"`, `"trace"`},
		{"no unit", `"8.15(5) m"`, `"8.15(5)"`, `launch.toml:35: flight_range: `, "mm"},
		{"bare number", `"8.15(5) m"`, `8.15`, `launch.toml:35: flight_range: "8.15" has no unit`, "mm"},
		{"wrong unit", `"350 mL"`, `"350 kg"`, `launch.toml:8: water: `, "mL"},
		{"mark's unit", `at = "0.4 m"`, `at = "0.4 s"`, `launch.toml:31: at: `, "mm"},
		{"mark without y", `, y = 870.5`, ``, `launch.toml:31: a mark of [scale] has no y`, "pixels"},
		{"one mark", `  { at = "0.4 m", x = 511.2, y = 870.5 },`, ``, `needs two marks`, "marks = "},
		{"kind", `"rod"`, `"stick"`, `launch.toml:28: there is no scale of kind "stick"`, "plane"},
		{"no kind", `kind = "rod"`, ``, `[scale] states no kind`, "plane"},
		{"basis", `"rate"`, `"frames"`, `launch.toml:22: there is no time basis "frames"`, "container"},
		{"rate without basis", `basis = "rate"`, ``, `launch.toml:23: a rate is given`, `basis = "rate"`},
		{"basis without rate", `rate = "30000/1001 fps"`, ``, `launch.toml:22: basis "rate" has no rate`, "1600 Hz"},
		{"not TOML", `vehicle = "Heron"`, `vehicle = Heron`, `launch.toml:3: not valid TOML`, "quotes"},
		{"curly quotes", `vehicle = "Heron"`, `vehicle = “Heron”`, `launch.toml:3: not valid TOML: “ is not a quote`, "straight quotes"},
		{"heading without end", `[trace]`, `[trace`, `launch.toml:42: not valid TOML: expected`, "headings"},
		{"kind of vehicle", `vehicle = "Heron"`, `kind = "glider"`, `launch.toml:3: there is no kind of vehicle "glider"`, "motor"},
		{"doubled key", `vehicle = "Heron"`, `title = "Heron"`, `launch.toml:3: not valid TOML`, "quotes"},
		{"newer format", `format  = 1`, `format  = 2`, `launch.toml:1: format 2 is not known`, "newer"},
		{"no format", `format  = 1`, ``, `launch.toml:1: the file does not say its format`, "format = 1"},
		{"box", `[480, 860, 64, 120]`, `[480, 860, 64]`, `launch.toml:44: box is no list of 4 numbers`, "width"},
		{"infinite place", `x = 500.2`, `x = inf`, `launch.toml:46: x = inf is not a finite number`, "finite"},
		{"frame in words", `frame = 12`, `frame = "12"`, `launch.toml:43: frame is text`, "without quotes"},
		{"to before from", `to = 400`, `to = 1`, `launch.toml:19: to = 1 lies before from = 2`, "last frame"},
		{"no path", `path = "shots/heron-350.mp4"`, ``, `[footage] has no path`, "clip.mp4"},
		{"negative speed", `"60 mph"`, `"-60 mph"`, `launch.toml:49: a speed of -60 mph is not above zero`, "leave it out"},
		{"too many gates", `every = "0.2 m"`, `every = "1 um"`, `launch.toml:50: gates every`, "1000"},
		{"latitude", `"52.1 deg"`, `"152 deg"`, `launch.toml:13: latitude 152 deg is beyond a pole`, "90"},
		{"keys of another kind", `mark_uncertainty = "0.5 px"`, `length = "1 m"`, `launch.toml:33: length belongs to kind "length"`, "one kind"},
		{"range below zero", `"8.00(2) m"`, `"-8 m"`, `launch.toml:34: rod_range is not above zero`, "above zero"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			text := strings.Replace(full, c.old, c.new, 1)
			if text == full {
				t.Fatalf("the file does not hold %q", c.old)
			}
			_, err := ParseLaunch([]byte(text), "launch.toml")
			var fe *fault.Error
			if !errors.As(err, &fe) {
				t.Fatalf("error = %v, want a fault.Error", err)
			}
			if fe.Kind != fault.Request || !strings.HasPrefix(fe.Message, "launch.toml:") || !strings.Contains(fe.Message, c.message) || strings.Contains(fe.Message, "\n") {
				t.Errorf("message = %q, want %q", fe.Message, c.message)
			}
			if !strings.Contains(fe.Hint, c.hint) {
				t.Errorf("hint = %q, want %q in it", fe.Hint, c.hint)
			}
		})
	}
}

func FuzzParseLaunch(f *testing.F) {
	f.Add([]byte(full))
	f.Add([]byte("format = 1\n[[a.b]]\nc.d = [{e = 1}]\n[a.f]\n"))
	f.Add([]byte("a = [[[[{}]]]]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := ParseLaunch(data, "launch.toml")
		if (l == nil) == (err == nil) {
			t.Errorf("ParseLaunch returned %v and %v", l, err)
		}
		var fe *fault.Error
		if err != nil && (!errors.As(err, &fe) || strings.ContainsAny(fe.Message, "\n\r")) {
			t.Errorf("error %q is no one-line fault.Error", err)
		}
	})
}

// What flies is read.
func TestKindOfVehicle(t *testing.T) {
	t.Parallel()
	text := strings.Replace(full, `vehicle = "Heron"`, "vehicle = \"Heron\"\nkind = \"bottle\"", 1)
	l, err := ParseLaunch([]byte(text), "launch.toml")
	if err != nil || l.Kind != "bottle" {
		t.Fatalf("kind = %q, %v, want bottle", l.Kind, err)
	}
}
