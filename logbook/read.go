package logbook

import (
	"math"
	"path/filepath"
	"strings"

	"padside/units"
)

// ReadLaunch reads a launch file. Paths in it are resolved against the file's folder.
func ReadLaunch(path string) (*Launch, error) {
	data, err := readText(path, "launch")
	if err != nil {
		return nil, err
	}
	return parseLaunch(data, path, path, false) // as the user named it: several may be called launch.toml
}

// ParseLaunch reads a launch file's content; path is where it lies (or would lie): a setup that it names is looked for in
// the logbook around that.
func ParseLaunch(data []byte, path string) (*Launch, error) {
	return parseLaunch(data, path, filepath.Base(path), false)
}

// ParseDraft reads a launch file that may lack its scale: Scale.Kind is empty then.
func ParseDraft(data []byte, path string) (*Launch, error) {
	return parseLaunch(data, path, filepath.Base(path), true)
}

// parseLaunch reads a launch file, called name in messages; a draft may lack its scale.
func parseLaunch(data []byte, path, name string, draft bool) (*Launch, error) {
	root, err := textTree(name, data)
	if err != nil {
		return nil, err
	}
	if v := root.get("setup"); v != nil && v.kind == isText {
		setup, err := setupOf(path, v.text)
		if err != nil {
			return nil, err
		}
		if setup != nil {
			root.adopt(setup)
		}
	}
	r := &reader{file: name, draft: draft}
	l := &Launch{Path: path}
	r.launch(root, l)
	if r.err != nil {
		return nil, r.err
	}
	return l, nil
}

func (r *reader) launch(t *table, l *Launch) {
	r.format(t)
	r.known(t, "", "format", "title", "vehicle", "kind", "date", "setup", "flight", "conditions", "footage", "scale", "camera", "trace", "questions")
	l.Title, l.Vehicle, l.Setup = r.text(t, "title"), r.text(t, "vehicle"), r.text(t, "setup")
	l.Kind = r.text(t, "kind")
	if v := t.get("kind"); v != nil && !contains([]string{"bottle", "motor", "drop"}, l.Kind) {
		r.fail(v.line, `write kind = "bottle", "motor" or "drop", or leave it out`, "there is no kind of vehicle %q", l.Kind)
	}
	if given := r.text(t, "flight"); given != "" {
		if l.Flight = filepath.FromSlash(given); !filepath.IsAbs(l.Flight) {
			l.Flight = filepath.Join(filepath.Dir(l.Path), l.Flight)
		}
	}
	if v := t.get("date"); v != nil {
		if v.kind != isDate && v.kind != isText {
			r.fail(v.line, "write date = 2026-05-16", "date is %s, where a date is needed", v.kind)
		}
		l.Date = v.text
	}
	if s := r.section(t, "conditions"); s != nil && !r.tooLong(t.get("conditions"), "conditions") {
		r.conditions(s, l)
	}
	if s := r.required(t, "footage", `[footage] and path = "clip.mp4"`); s != nil {
		r.footage(s, l)
	}
	if r.draft && t.get("scale") == nil {
		l.Scale = Scale{}
	} else if s := r.required(t, "scale", `[scale] and kind = "rod", "length" or "plane"`); s != nil {
		r.scale(s, &l.Scale)
	}
	if s := r.section(t, "camera"); s != nil {
		r.camera(s, &l.Camera)
	}
	l.Trace = Trace{Lanes: 1, Follow: true}
	if s := r.section(t, "trace"); s != nil {
		r.trace(s, &l.Trace)
	}
	if s := r.section(t, "questions"); s != nil {
		r.questions(s, &l.Questions)
	}
}

// format comes first: a newer file may differ in everything else.
func (r *reader) format(t *table) {
	v := t.get("format")
	switch {
	case v == nil:
		r.fail(1, "write format = 1 as the first line", "the file does not say its format")
	case v.kind != isNumber:
		r.fail(v.line, "write format = 1", "format is %s, where a number is needed", v.kind)
	case v.text != "1":
		r.fail(v.line, "this program reads format 1; use a newer one for newer files", "format %s is not known", v.text)
	}
}

func (r *reader) required(t *table, key, hint string) *table {
	if t.get(key) == nil {
		r.fail(1, "add "+hint, "section [%s] is missing", key)
	}
	return r.section(t, key)
}

// conditionDimension is what a known condition measures; 0 for keys of the user's own.
func conditionDimension(key string) units.Dimension {
	switch key {
	case "water":
		return units.Volume
	case "volume", "bottle_volume":
		return units.Volume
	case "pressure", "air_pressure":
		return units.Pressure
	case "dry_mass", "propellant_mass", "payload_mass":
		return units.Mass
	case "air_temperature", "water_temperature":
		return units.Temperature
	case "elevation", "nozzle_diameter", "body_diameter", "rod_length", "rail_length":
		return units.Length
	case "latitude", "launch_angle":
		return units.Angle
	case "wind":
		return units.Speed
	case "total_impulse":
		return units.Impulse
	}
	return 0
}

func (r *reader) conditions(t *table, l *Launch) {
	for _, e := range t.entries {
		c := Condition{Key: e.key, Text: e.value.text, Dimension: conditionDimension(e.key)}
		if e.value.kind == isList || e.value.kind == isTable {
			r.fail(e.line, `write one value: key = "350 mL"`, "condition %q is %s", e.key, e.value.kind)
			return
		}
		if c.Dimension != 0 {
			q, ok := r.measure(e.value, e.key, c.Dimension)
			if !ok {
				return
			}
			c.Quantity = q
			r.site(l, e, q)
		}
		l.Conditions = append(l.Conditions, c)
	}
}

// site keeps the conditions that gravity and air depend on.
func (r *reader) site(l *Launch, e entry, q units.Quantity) {
	v := q.Value
	switch e.key {
	case "latitude":
		if math.Abs(v) > math.Pi/2 {
			r.fail(e.line, "latitude runs from -90 deg to 90 deg", "latitude %s is beyond a pole", e.value.text)
		}
		l.Latitude = &v
	case "elevation":
		l.Elevation = &v
	case "air_temperature":
		l.AirTemperature = &v
	}
}

func (r *reader) footage(t *table, l *Launch) {
	f := &l.Footage
	r.known(t, "[footage]", "path", "rotate", "from", "to", "time")
	f.Given = r.text(t, "path")
	if f.Given == "" || strings.ContainsRune(f.Given, 0) {
		r.fail(t.line, `add path = "clip.mp4", a folder, or "IMG_*.jpg"`, "[footage] has no path")
	}
	f.Path = resolve(l.Path, f.Given)
	turns := r.whole(t, "rotate", 0)
	f.Rotate = ((turns % 4) + 4) % 4
	f.From, f.To = r.whole(t, "from", 0), r.whole(t, "to", -1)
	if v := t.get("from"); v != nil && f.From < 0 {
		r.fail(v.line, "frames count from 0", "from = %d is negative", f.From)
	}
	if v := t.get("to"); v != nil && f.To < f.From {
		r.fail(v.line, "to is the last frame to use", "to = %d lies before from = %d", f.To, f.From)
	}
	if s := r.section(t, "time"); s != nil {
		r.time(s, &l.Time)
	}
}

// resolve makes a path of the file absolute or relative to the file's folder. Slashes are
// understood on every system.
func resolve(file, given string) string {
	p := filepath.FromSlash(given)
	if filepath.IsAbs(p) {
		return p
	}
	return filepath.Join(filepath.Dir(file), p)
}

func (r *reader) camera(t *table, c *Camera) {
	r.known(t, "[camera]", "focal_length", "pixel_pitch", "tilt", "k1", "k2")
	c.FocalLength, _ = r.positive(t, "focal_length", units.Length)
	c.PixelPitch, _ = r.positive(t, "pixel_pitch", units.Length)
	c.Tilt, c.TiltGiven = r.quantity(t, "tilt", units.Angle)
	c.K1, _ = r.number(t, "k1")
	c.K2, _ = r.number(t, "k2")
}
