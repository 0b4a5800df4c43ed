package staged

import (
	"padside/camera"
	"padside/scene"
	"padside/shoot"
	"padside/units"
)

// RehearsedText is the launch file that somebody would write who shot the plan: the ranges as the plan states them, as many marks, each off by a hand's
// error.
func RehearsedText(s *shoot.Shoot, f *shoot.Film, path string, seed uint64) []byte {
	t := f.Take
	var w writer
	w.line("format = 1\ntitle = %q\nvehicle = %q", t.Title, t.Vehicles[0])
	if s.Expected.Kind != "" {
		w.line("kind = %q", s.Expected.Kind)
	}
	w.line("\n[footage]\npath = %q", path)
	w.time(t)
	w.plannedRows(s, f.Camera())
	w.line("\n[scale]\nkind = %q\nmark_uncertainty = \"%g px\"", s.Reference.Kind, MarkNoise)
	w.measured("flight_range", s.Place.Range, units.Length)
	w.measured("lean", s.Place.Lean, units.Angle)
	if s.Reference.Kind == camera.KindRod {
		w.measured("rod_range", s.Reference.Range, units.Length)
		w.marks(scene.Perturb(t.Scene.Marks(), MarkNoise, seed))
	} else {
		v := t.Scene.Vehicles[0]
		ends := []scene.Mark{{Pixel: t.Scene.Camera.Project(v.Across, s.Expected.Front(), v.Range)},
			{Pixel: t.Scene.Camera.Project(v.Across, s.Expected.After(-s.Reference.Length), v.Range)}}
		ends = scene.Perturb(ends, MarkNoise, seed)
		w.line("length = \"%.6g m\"\nends = [ { x = %.2f, y = %.2f }, { x = %.2f, y = %.2f } ]", s.Reference.Length, ends[0].X, ends[0].Y, ends[1].X, ends[1].Y)
	}
	w.questions(t)
	return w.Bytes()
}

// plannedRows states of the shutter what the plan does. The rows of stills of a camera that lay on its side are read sideways, which the picture, stored upright, does
// not tell; they show all of the flight at one time.
func (w *writer) plannedRows(s *shoot.Shoot, c shoot.Camera) {
	switch {
	case s.Place.Rotated && c.Burst != nil || c.Shutter == shoot.Global:
		w.line("shutter = %q", shoot.Global)
	case c.RowTime.Value > 0:
		w.measured("row_time", c.RowTime, units.Time)
	case c.Shutter == shoot.Rolling:
		w.line("shutter = %q", shoot.Rolling)
	}
}

// measured writes a quantity with what is known of its uncertainty, where it is stated at all.
func (w *writer) measured(key string, m camera.Measured, of units.Dimension) {
	if !m.Given {
		return
	}
	text, err := units.Print(units.Quantity{Value: m.Value, U: m.U, Stated: m.U > 0 || m.Exact}, of)
	if err != nil { // what was read can be written
		panic(err)
	}
	w.line("%s = %q", key, text)
}
