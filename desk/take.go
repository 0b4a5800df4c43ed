package desk

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"padside/scene"
	"padside/timebase"
	"padside/units"
)

// takeMarkNoise is how far, 1 sigma in px, the marks of a drawn rod are misplaced, as a hand
// would.
const takeMarkNoise = 0.5

// LaunchText is the launch file of a take as the person who filmed it would write it: the marks
// misplaced by 0.5 px (1 sigma, by seed), the ranges known to 10 mm. path is the footage's, relative
// to the launch file.
func LaunchText(t *scene.Take, path string, seed uint64) []byte {
	var b bytes.Buffer
	p := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	p("format = 1\ntitle = %q\nvehicle = %q\n", t.Title, strings.Join(t.Vehicles, ", "))
	p("[conditions]")
	for _, c := range t.Conditions {
		p("%s = %q", c.Key, c.Value)
	}
	p("\n[footage]\npath = %q\n\n[footage.time]\nbasis = %q", path, t.Basis)
	if t.Basis == timebase.Rate {
		p("rate = %q", fmt.Sprintf("%g Hz", t.Hz))
	}
	p("exposure = %q", shutterText(t.Scene.Camera.Exposure))
	if t.Scene.Camera.RowTime != 0 {
		p("row_time = %q", fmt.Sprintf("%g s", t.Scene.Camera.RowTime))
	}
	p("\n[scale]\nkind = \"rod\"\nmark_uncertainty = \"%g px\"", takeMarkNoise)
	marks := scene.Perturb(scene.Thin(t.Scene.Marks(), 8), takeMarkNoise, seed)
	p("rod_range = \"%.3f(10) m\"\nflight_range = \"%.3f(10) m\"", t.Scene.Rod.Range, t.Scene.Vehicles[0].Range)
	p("marks = [")
	for _, m := range marks {
		p("  { at = \"%.4f m\", x = %.2f, y = %.2f },", m.At, m.X, m.Y)
	}
	p("]\n")
	if n := len(t.Vehicles); n > 1 {
		p("[trace]\nlanes = %d\n", n)
	}
	p("[questions]")
	var speeds []string
	for _, v := range t.Speeds {
		speeds = append(speeds, fmt.Sprintf("%q", speedText(v)))
	}
	var gates []string
	for _, g := range t.Gates {
		gates = append(gates, fmt.Sprintf("\"%.6g m\"", g))
	}
	p("speeds = [%s]\ngates = [%s]", strings.Join(speeds, ", "), strings.Join(gates, ", "))
	if t.Scene.Vehicles[0].Falls {
		p("drop_check = true")
	}
	return b.Bytes()
}

// speedText writes a speed in mph or km/h where it is a whole number of them.
func speedText(v float64) string {
	for _, symbol := range []string{"mph", "km/h"} {
		u, _ := units.Lookup(symbol, units.Speed)
		if n := u.FromSI(v); math.Abs(n-math.Round(n)) < 1e-6 {
			return fmt.Sprintf("%.0f %s", n, symbol)
		}
	}
	return fmt.Sprintf("%.6g m/s", v)
}

// shutterText writes an exposure as cameras show it, where it is a whole part of a second.
func shutterText(s float64) string {
	if n := math.Round(1 / s); s > 0 && n > 1 && math.Abs(n*s-1) < 1e-9 {
		return fmt.Sprintf("1/%.0f s", n)
	}
	return fmt.Sprintf("%g s", s)
}
