package staged

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"padside/scene"
	"padside/timebase"
	"padside/units"
)

// LaunchText is the launch file of a take as the person who filmed it would write it: the marks
// misplaced by 0.5 px (1 sigma, by seed), the ranges known to 10 mm, that of the flight to the side of the vehicle that faces the camera. path is the footage's, relative
// to the launch file. A take of a setup names it; SetupText has what the launches share.
func LaunchText(t *scene.Take, path string, seed uint64) []byte {
	var w writer
	w.line("format = 1\ntitle = %q\nvehicle = %q", t.Title, strings.Join(t.Vehicles, ", "))
	if t.Setup != "" {
		w.line("setup = %q", t.Setup)
	}
	if t.Model != "" {
		w.line("flight = %q", "../../flights/"+t.Model+".toml")
	}
	w.line("\n[conditions]")
	for _, c := range t.Conditions {
		w.line("%s = %q", c.Key, c.Value)
	}
	w.line("\n[footage]\npath = %q", path)
	if t.Setup == "" {
		w.time(t)
		w.rows(t)
		w.scale(t, seed)
	}
	if n := len(t.Vehicles); n > 1 {
		w.line("\n[trace]\nlanes = %d", n)
	}
	w.questions(t)
	return w.Bytes()
}

// SetupText is the setup file of a take: time base and scale, as LaunchText would write them.
func SetupText(t *scene.Take, seed uint64) []byte {
	var w writer
	w.line("format = 1")
	w.time(t)
	w.rows(t)
	w.scale(t, seed)
	return w.Bytes()
}

type writer struct{ bytes.Buffer }

func (w *writer) line(format string, args ...any) { fmt.Fprintf(w, format+"\n", args...) }

func (w *writer) time(t *scene.Take) {
	w.line("\n[footage.time]\nbasis = %q", t.Basis)
	if t.Basis == timebase.Rate {
		w.line("rate = %q", fmt.Sprintf("%g Hz", t.Hz))
	}
	w.line("exposure = %q", shutterText(t.Scene.Camera.Exposure))
}

// rows states the shutter as it was.
func (w *writer) rows(t *scene.Take) {
	if t.Scene.Camera.RowTime == 0 {
		w.line(`shutter = "global"`)
	} else {
		w.line("row_time = %q", fmt.Sprintf("%g s", t.Scene.Camera.RowTime))
	}
}

func (w *writer) scale(t *scene.Take, seed uint64) {
	w.line("\n[scale]\nkind = \"rod\"\nmark_uncertainty = \"%g px\"", MarkNoise)
	v := t.Scene.Vehicles[0]
	w.line("rod_range = \"%.3f(10) m\"\nflight_range = \"%.3f(10) m\"", t.Scene.Rod.Range, v.Range-v.Diameter/2)
	w.marks(scene.Perturb(scene.Thin(t.Scene.Marks(), 8), MarkNoise, seed))
}

// marks writes the marks of a rod.
func (w *writer) marks(list []scene.Mark) {
	w.line("marks = [")
	for _, m := range list {
		w.line("  { at = \"%.4f m\", x = %.2f, y = %.2f },", m.At, m.X, m.Y)
	}
	w.line("]")
}

func (w *writer) questions(t *scene.Take) {
	var speeds []string
	for _, v := range t.Speeds {
		speeds = append(speeds, fmt.Sprintf("%q", speedText(v)))
	}
	var gates []string
	for _, g := range t.Gates {
		gates = append(gates, fmt.Sprintf("\"%.6g m\"", g))
	}
	w.line("\n[questions]\nspeeds = [%s]\ngates = [%s]", strings.Join(speeds, ", "), strings.Join(gates, ", "))
	if t.Scene.Vehicles[0].Falls {
		w.line("drop_check = true")
	}
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
