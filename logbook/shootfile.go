package logbook

import (
	"math"
	"path/filepath"
	"slices"
	"strings"

	"padside/camera"
	"padside/flight"
	"padside/motion"
	"padside/shoot"
	"padside/units"
)

// ShootFile is a shoot file: a shoot as it is being thought out. Of its Shoot the expected motion is set where it is stated by figures; a launch or a
// flight file that tells it instead is only named.
type ShootFile struct {
	Path   string
	Shoot  shoot.Shoot
	Launch string // a launch's file, resolved; empty: none
	Flight string // a flight file, resolved; empty: none
}

// ReadShoot reads a shoot file. Paths in it are resolved against its folder.
func ReadShoot(path string) (*ShootFile, error) {
	data, err := readText(path, "shoot")
	if err != nil {
		return nil, err
	}
	return ParseShoot(data, path)
}

// ParseShoot reads a shoot file's content; path is where it lies.
func ParseShoot(data []byte, path string) (*ShootFile, error) {
	name := filepath.Base(path)
	root, err := textTree(name, data)
	if err != nil {
		return nil, err
	}
	r := &reader{file: name}
	f := &ShootFile{Path: path}
	s := &f.Shoot
	r.format(root)
	r.known(root, "", "format", "title", "camera", "lens", "place", "light", "reference", "motion", "question")
	s.Title = r.text(root, "title")
	if t := r.section(root, "lens"); t != nil {
		s.Lens = r.lens(t, "[lens]")
	}
	if t := r.required(root, "place", `[place] with range = "6 m" and height = "0.6 m"`); t != nil {
		r.standing(t, &s.Place)
	}
	if t := r.required(root, "light", `[light] with ev100 = 14 or ev100 = "full sun"`); t != nil {
		r.light(t, s)
	}
	if t := r.required(root, "reference", `[reference] with kind = "rod", length = "2 m", marks = 6`); t != nil {
		r.reference(t, &s.Reference)
	}
	if t := r.required(root, "motion", `[motion] with acceleration and top_speed, or launch = "launch.toml", or flight = "flight.toml"`); t != nil {
		r.expected(t, path, f)
	}
	for _, t := range r.tables(root, "camera", "[[camera]] and its keys below it") {
		r.shootCamera(t, s)
	}
	if root.get("lens") == nil && slices.ContainsFunc(s.Cameras, func(c shoot.Camera) bool { return c.Lens == nil }) {
		r.fail(1, `add [lens] with focal_length = "25 mm" and widest = 1.4, or lens = { ... } to each camera`, "section [lens] is missing")
	}
	if len(s.Cameras) == 0 {
		r.fail(1, "add [[camera]] with name, pixel_pitch and modes", "there is no camera")
	}
	for _, t := range r.tables(root, "question", "[[question]] and its keys below it") {
		r.question(t, s)
	}
	if len(s.Questions) == 0 {
		r.fail(1, `add [[question]] with answer = "time_to_speed", speed = "60 mph", within = "2 %"`, "nothing is asked")
	}
	if r.err != nil {
		return nil, r.err
	}
	return f, nil
}

func (r *reader) lens(t *table, section string) shoot.Lens {
	r.known(t, section, "focal_length", "widest")
	return shoot.Lens{FocalLength: r.must(t, "focal_length", units.Length, section), Widest: r.above(t, "widest", 0, "widest = 1.4, an f-number")}
}

// must reads a quantity above zero that has to be there.
func (r *reader) must(t *table, key string, d units.Dimension, section string) float64 {
	q, ok := r.positive(t, key, d)
	if !ok && t.get(key) == nil {
		r.fail(t.line, "add "+key+" = "+sample(d), "%s has no %s", section, key)
	}
	return q.Value
}

// above reads a number that has to be there and above a least value.
func (r *reader) above(t *table, key string, least float64, example string) float64 {
	x, ok := r.number(t, key)
	switch v := t.get(key); {
	case v == nil:
		r.fail(t.line, "write "+example, "%s is missing", key)
	case ok && !(x > least):
		r.fail(v.line, "write "+example, "%s = %g is not above %g", key, x, least)
	case ok && x < leastNumber:
		r.fail(v.line, "write "+example, "%s = %g is beyond anything real", key, x)
	}
	return x
}

func (r *reader) standing(t *table, p *shoot.Place) {
	r.known(t, "[place]", "range", "height", "tilt", "lean", "rotated")
	r.must(t, "range", units.Length, "[place]")
	p.Range = r.measured(t, "range", units.Length)
	p.Height = r.must(t, "height", units.Length, "[place]")
	if q, ok := r.quantity(t, "tilt", units.Angle); ok {
		p.Tilt, p.TiltGiven = q.Value, true
		if !(q.Value > -1.4 && q.Value < 1.4) {
			r.fail(t.get("tilt").line, `write tilt = "5 deg", up is positive`, "a tilt of %.3g deg looks past the flight", q.Value*180/math.Pi)
		}
	}
	p.Lean = r.measured(t, "lean", units.Angle)
	p.Rotated = r.boolean(t, "rotated", false)
}

// measured reads a quantity with what is known of its uncertainty.
func (r *reader) measured(t *table, key string, d units.Dimension) camera.Measured {
	q, ok := r.quantity(t, key, d)
	return camera.Measured{Value: q.Value, U: q.U, Given: ok, Exact: ok && q.Stated && q.U == 0}
}

func (r *reader) light(t *table, s *shoot.Shoot) {
	r.known(t, "[light]", "ev100")
	v := t.get("ev100")
	example := `ev100 = 14, or a word: "` + strings.Join(shoot.LightWords(), `", "`) + `"`
	switch {
	case v == nil:
		r.fail(t.line, "write "+example, "[light] has no ev100")
	case v.kind == isText:
		var ok bool
		if s.Light, ok = shoot.Light(v.text); !ok {
			r.fail(v.line, "write "+example, "there is no light called %q", v.text)
		}
	default:
		s.Light, _ = r.number(t, "ev100")
		if !(s.Light >= -6 && s.Light <= 20) {
			r.fail(v.line, "write "+example, "EV %g is no light to film in", s.Light)
		}
	}
}

func (r *reader) reference(t *table, ref *shoot.Reference) {
	r.known(t, "[reference]", "kind", "length", "marks", "range")
	ref.Kind = r.text(t, "kind")
	ref.Length = r.must(t, "length", units.Length, "[reference]")
	ref.Range = r.measured(t, "range", units.Length)
	ref.Marks = r.whole(t, "marks", 2)
	switch ref.Kind {
	case camera.KindRod:
		if ref.Marks < 2 || ref.Marks > 1000 {
			r.fail(t.line, "give marks = 6: how many are placed along the rod", "a rod of %d marks gives no scale", ref.Marks)
		}
	case camera.KindLength:
	default:
		r.fail(t.line, `write kind = "rod" or kind = "length"`, "there is no reference of kind %q to plan with", ref.Kind)
	}
}

func (r *reader) expected(t *table, path string, f *ShootFile) {
	r.known(t, "[motion]", "kind", "height", "acceleration", "top_speed", "launch", "flight", "vehicle_length")
	e := &f.Shoot.Expected
	r.expectedKind(t, e)
	e.Length = r.must(t, "vehicle_length", units.Length, "[motion]")
	f.Launch, f.Flight = beside(path, r.text(t, "launch")), beside(path, r.text(t, "flight"))
	pull, pulled := r.positive(t, "acceleration", units.Acceleration)
	top, topped := r.positive(t, "top_speed", units.Speed)
	ways := 0
	for _, given := range []bool{pulled || topped, f.Launch != "", f.Flight != ""} {
		if given {
			ways++
		}
	}
	switch {
	case ways == 0 && e.Falls():
		e.Motion = shoot.Even{Pull: flight.StandardSite().Gravity, Top: math.Inf(1)}
	case ways != 1:
		r.fail(t.line, `give acceleration and top_speed, or launch = "launch.toml", or flight = "flight.toml"`, "the expected motion is given in %d ways, where one is needed", ways)
	case pulled != topped:
		r.fail(t.line, "give both acceleration and top_speed", "only one of acceleration and top_speed is given")
	case pulled:
		even := shoot.Even{Pull: pull.Value, Top: top.Value}
		if e.Kind == motion.Motor {
			even.Rise = shoot.MotorRise
		}
		e.Motion = even
	}
}

// expectedKind reads what flies, and from where it is dropped.
func (r *reader) expectedKind(t *table, e *shoot.Expected) {
	e.Kind = motion.Kind(r.text(t, "kind"))
	if v := t.get("kind"); v != nil && e.Kind != motion.Bottle && e.Kind != motion.Motor && e.Kind != motion.Dropped {
		r.fail(v.line, `write kind = "bottle", "motor" or "drop"`, "there is no kind of vehicle %q", e.Kind)
	}
	high := t.get("height")
	switch {
	case e.Falls():
		e.Height = r.must(t, "height", units.Length, "[motion]")
	case high != nil:
		r.fail(high.line, `leave it out, or write kind = "drop"`, "[motion] height is that of what is dropped")
	}
}

// beside resolves a path against the folder of a file; empty stays empty.
func beside(file, path string) string {
	if path == "" || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(filepath.Dir(file), filepath.FromSlash(path))
}
