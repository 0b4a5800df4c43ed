package logbook

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"padside/fault"
	"padside/units"
)

// boundTexts are files that together have the keys which take a quantity or a number, beside the examples of docs/formats.md.
func boundTexts(t *testing.T) map[string]string {
	t.Helper()
	_, launch := documented(t, "## The launch file")
	_, heat := documented(t, "## The heat file")
	return map[string]string{
		"launch": launch, "heat": heat + "\n[[entry]]\nlaunch = \"another.toml\"\n",
		"shoot": strings.NewReplacer(
			`"bright overcast"`, "14",
			"memory_frames", "row_time = \"10(1) us\"\nshutter = \"rolling\"\nlens = { focal_length = \"20 mm\", widest = 1.4 }\nmemory_frames",
			"tilt =", "lean = \"0(1) deg\"\ntilt =",
		).Replace(wholeShoot) + "[[question]]\nanswer = \"gate_speed\"\nheight = \"1 m\"\nwithin = \"3 %\"\n",
		"flight bottle": "format = 1\nkind = \"bottle\"\nvolume = \"1.25(1) L\"\nwater = \"350 mL\"\npressure = \"4.4 bar\"\nnozzle_diameter = \"13 mm\"\ndry_mass = \"140 g\"\nbody_diameter = \"85 mm\"\ndrag_coefficient = \"0.4\"\nexponent = \"1.3\"\ndischarge = \"0.9\"\n[launch_tube]\nlength = \"200 mm\"\ndiameter = \"12 mm\"\n",
		"launch by a length": `format = 1
[footage]
path = "a.mp4"
[footage.time]
basis = "rate"
rate = "240 Hz"
exposure = "1/2000 s"
row_time = "10(1) us"
[scale]
kind = "length"
length = "1.2(1) m"
flight_range = "8(1) m"
lean = "1(1) deg"
ends = [ { x = 1.5, y = 1.5 }, { x = 1.5, y = 200.5 } ]
[camera]
focal_length = "25 mm"
pixel_pitch = "6.6 um"
tilt = "2 deg"
k1 = 0.01
k2 = 0.02
[trace]
marks = [ { frame = 3, x = 100.5, y = 50.5, u = "1 px" } ]
[questions]
gates = { every = "50 mm", to = "500 mm" }
`,
		"launch by a list": "format = 1\n[footage]\npath = \"stills\"\n[footage.time]\nbasis = \"list\"\ntimes = [ \"0.1(1) s\", \"0.2(1) s\" ]\n[scale]\nkind = \"length\"\nlength = \"1.2 m\"\nends = [ { x = 1.5, y = 1.5 }, { x = 1.5, y = 200.5 } ]\n",
		"flight motor":     "format = 1\nkind = \"motor\"\nmean_thrust = \"6 N\"\nburn_time = \"1.8 s\"\nthrust_scale = \"1\"\npropellant_mass = \"11 g\"\ndry_mass = \"60 g\"\nbody_diameter = \"25 mm\"\ndrag_coefficient = \"0.5\"\nrod_length = \"1 m\"\n[site]\nelevation = \"100 m\"\nair_temperature = \"15 degC\"\nair_pressure = \"1000 mbar\"\nlatitude = \"45 deg\"\n",
	}
}

// parseBounded reads a text as the kind of file that its name begins with.
func parseBounded(name, text string) error {
	var err error
	switch strings.Fields(name)[0] {
	case "launch":
		_, err = ParseLaunch([]byte(text), "x.toml")
	case "heat":
		_, err = ParseHeat([]byte(text), "x.toml")
	case "flight":
		_, err = ParseFlight([]byte(text), "x.toml")
	case "shoot":
		_, err = ParseShoot([]byte(text), "x.toml")
	}
	return err
}

// quantityText is a quantity in quotes, of which the first group is the number and the second the unit; numberText a number without quotes, after
// its key or within a list.
var (
	quantityText = regexp.MustCompile(`"([0-9][0-9./]*(?:\([0-9.]+\))?)( ?[^"0-9][^"]*)?"`)
	numberText   = regexp.MustCompile(`(?:= |\[ ?|, )(-?[0-9][0-9.]*)( ?[,}\]\n]|$)`)
)

// TestQuantitiesAreReal replaces each quantity and each number of each kind of file in turn by what nothing real has: it is refused with where and what to do.
func TestQuantitiesAreReal(t *testing.T) {
	t.Parallel()
	tried := 0
	for name, text := range boundTexts(t) {
		if err := parseBounded(name, text); err != nil {
			t.Fatalf("%s, as it stands: %v\n%s", name, err, text)
		}
		try := func(from, to int, now string, may bool) {
			tried++
			changed := text[:from] + now + text[to:]
			line := 1 + strings.Count(text[:from], "\n")
			where := fmt.Sprintf("%s, line %d, %s for %s", name, line, now, text[from:to])
			err := parseBounded(name, changed)
			var f *fault.Error
			switch {
			case err == nil && may:
			case err == nil:
				t.Errorf("%s: accepted", where)
			case !errors.As(err, &f) || f.Kind != fault.Request || f.Hint == "" || strings.Contains(f.Message, "\n") || !strings.Contains(f.Message, "x.toml:"):
				t.Errorf("%s: %v", where, err)
			}
		}
		for _, m := range quantityText.FindAllStringSubmatchIndex(text, -1) {
			if commented(text, m[0]) {
				continue
			}
			for _, now := range []string{"1e300", "-1e300", "1e-300", "NaN", "Inf", "1(1e300)"} {
				celsius := m[4] >= 0 && strings.Contains(text[m[4]:m[5]], "degC") // next to nothing is the ice point
				try(m[2], m[3], now, celsius && now == "1e-300")
			}
		}
		for _, m := range numberText.FindAllStringSubmatchIndex(text, -1) {
			if commented(text, m[0]) {
				continue
			}
			for _, now := range []string{"1e300", "-1e300", "nan", "inf"} {
				try(m[2], m[3], now, false)
			}
			try(m[2], m[3], "1e-300", true) // a place in the picture may be next to nothing off its edge
		}
	}
	if tried < 600 {
		t.Errorf("only %d values were tried", tried)
	}
}

// commented says whether a place of a TOML text is in a comment. No value of the texts has a "#".
func commented(text string, at int) bool {
	return strings.Contains(text[strings.LastIndexByte(text[:at], '\n')+1:at], "#")
}

// Every dimension is bounded, and the bounds are those that docs/formats.md names.
func TestBoundsAreDocumented(t *testing.T) {
	t.Parallel()
	b, err := os.ReadFile(filepath.Join("..", "docs", "formats.md"))
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range units.Dimensions() {
		is, ok := bounds[d]
		if row := fmt.Sprintf("| %s | %g | %g |", d, is.least, is.most); !ok || !strings.Contains(string(b), row) {
			t.Errorf("docs/formats.md has no row %q", row)
		}
	}
}
