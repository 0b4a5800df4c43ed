package logbook

import (
	"errors"
	"io/fs"
	"math"
	"math/big"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"unicode/utf8"

	"padside/fault"
	"padside/units"
)

// ReadLaunch reads a launch file. Paths in it are resolved against the file's folder.
func ReadLaunch(path string) (*Launch, error) {
	info, err := os.Stat(path)
	if err == nil && info.IsDir() {
		return nil, fault.Requestf("name the launch.toml inside it", "%s is a folder", path)
	}
	if err == nil && info.Size() > longestFile {
		return nil, fault.Requestf("a launch file is a short text", "%s: is larger than %d bytes", path, longestFile)
	}
	data, err := os.ReadFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fault.Requestf("give the path of a launch file", "there is no file %s", path)
	case err != nil:
		return nil, &fault.Error{Kind: fault.Request, Cause: err, Message: "cannot read " + path + ": " + oneLine(err.Error()), Hint: "check the file's permissions"}
	}
	return ParseLaunch(data, path)
}

// ParseLaunch reads a launch file's content; path is where it lies (or would lie).
func ParseLaunch(data []byte, path string) (*Launch, error) {
	name := filepath.Base(path)
	if !utf8.Valid(data) {
		return nil, fault.Requestf("save the file as UTF-8", "%s: is not UTF-8 text", name)
	}
	data = []byte(strings.TrimPrefix(string(data), "\ufeff")) // some editors put a mark first
	root, err := parseTree(name, data)
	if err != nil {
		return nil, err
	}
	r := &reader{file: name}
	l := &Launch{Path: path}
	r.launch(root, l)
	if r.err != nil {
		return nil, r.err
	}
	return l, nil
}

func (r *reader) launch(t *table, l *Launch) {
	r.format(t)
	r.known(t, "", "format", "title", "vehicle", "date", "setup", "conditions", "footage", "scale", "camera", "trace", "questions")
	l.Title, l.Vehicle, l.Setup = r.text(t, "title"), r.text(t, "vehicle"), r.text(t, "setup")
	if v := t.get("date"); v != nil {
		if v.kind != isDate && v.kind != isText {
			r.fail(v.line, "write date = 2026-05-16", "date is %s, where a date is needed", v.kind)
		}
		l.Date = v.text
	}
	if s := r.section(t, "conditions"); s != nil {
		r.conditions(s, l)
	}
	if s := r.required(t, "footage", `[footage] and path = "clip.mp4"`); s != nil {
		r.footage(s, l)
	}
	if s := r.required(t, "scale", `[scale] and kind = "rod", "length" or "plane"`); s != nil {
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

func (r *reader) time(t *table, m *Time) {
	r.known(t, "[footage.time]", "basis", "rate", "exposure", "row_time", "times")
	m.Basis = r.text(t, "basis")
	if v := t.get("basis"); v != nil && !contains([]string{"container", "rate", "exif", "list"}, m.Basis) {
		r.fail(v.line, `basis is "container", "rate", "exif" or "list"`, "there is no time basis %q", m.Basis)
	}
	var given bool
	if m.Rate, given = r.positive(t, "rate", units.Frequency); given {
		m.RateExact = exactRate(t.get("rate").text, m.Rate)
	}
	if q, ok := r.quantity(t, "exposure", units.Time); ok {
		m.Exposure, m.ExposureGiven = q.Value, true
		if q.Value < 0 {
			r.fail(t.get("exposure").line, `for example exposure = "1/8000 s"`, "exposure is negative")
		}
	}
	if q, ok := r.quantity(t, "row_time", units.Time); ok {
		m.RowTime = q.Value
	}
	for i, v := range r.list(t, "times", "times = [0.0, 0.125, 0.25], in seconds") {
		x, _ := r.finite(v, "times")
		if i > 0 && x <= m.Times[i-1] {
			r.fail(v.line, "list one time per frame, in seconds, rising", "time %d of the list, %g, does not come after %g", i+1, x, m.Times[i-1])
		}
		m.Times = append(m.Times, x)
	}
	r.timeTogether(t, m, given)
}

// timeTogether refuses a basis without what it needs, and a rate or list without its basis:
// which of the two holds would be a guess.
func (r *reader) timeTogether(t *table, m *Time, rate bool) {
	switch {
	case m.Basis == "rate" && !rate:
		r.fail(t.get("basis").line, `add rate = "1600 Hz", the true capture rate`, `basis "rate" has no rate`)
	case m.Basis == "list" && len(m.Times) < 2:
		r.fail(t.get("basis").line, "add times = [0.0, 0.125, 0.25], one per frame, in seconds", `basis "list" has no two times`)
	case rate && m.Basis != "rate":
		r.fail(t.get("rate").line, `add basis = "rate", or leave the rate out`, `a rate is given, but the basis is not "rate"`)
	case len(m.Times) > 0 && m.Basis != "list":
		r.fail(t.get("times").line, `add basis = "list", or leave the times out`, `times are given, but the basis is not "list"`)
	}
}

// exactRate is the rate as the exact number written ("30000/1001 fps"), in Hz; where the
// text holds more than that, the float64 it was read as.
func exactRate(text string, q units.Quantity) *big.Rat {
	float := new(big.Rat)
	if float.SetFloat64(q.Value) == nil {
		return nil
	}
	end := strings.IndexFunc(text, func(c rune) bool { return !strings.ContainsRune("0123456789./ ", c) })
	if end < 0 || len(text) > 100 {
		return float
	}
	exact := big.NewRat(1, 1)
	for i, part := range strings.Split(text[:end], "/") {
		x, ok := new(big.Rat).SetString(strings.TrimSpace(part))
		if !ok || x.Sign() == 0 || i > 1 {
			return float
		}
		if i == 1 {
			x.Inv(x)
		}
		exact.Mul(exact, x)
	}
	unit, found := units.Lookup(q.Unit, units.Frequency)
	num, den := new(big.Rat).SetFloat64(unit.Num), new(big.Rat).SetFloat64(unit.Den)
	if !found || num == nil || den == nil || den.Sign() == 0 {
		return float
	}
	exact.Mul(exact, num).Quo(exact, den)
	const reading = 1e-14 // both are the same number but for rounding
	if v, _ := exact.Float64(); math.Abs(v/q.Value-1) > reading {
		return float
	}
	return exact
}

func (r *reader) camera(t *table, c *Camera) {
	r.known(t, "[camera]", "focal_length", "pixel_pitch", "tilt", "k1", "k2")
	f, _ := r.positive(t, "focal_length", units.Length)
	c.FocalLength, c.FocalLengthU = f.Value, f.U
	p, _ := r.positive(t, "pixel_pitch", units.Length)
	c.PixelPitch = p.Value
	c.Tilt, c.TiltGiven = r.quantity(t, "tilt", units.Angle)
	c.K1, _ = r.number(t, "k1")
	c.K2, _ = r.number(t, "k2")
}

func (r *reader) trace(t *table, c *Trace) {
	r.known(t, "[trace]", "frame", "box", "steady", "lanes", "follow", "marks")
	c.Frame = r.whole(t, "frame", 0)
	if c.Frame < 0 {
		r.fail(t.get("frame").line, "frames count from 0", "frame = %d is negative", c.Frame)
	}
	if v := t.get("box"); v != nil {
		c.Box = r.box(v, "box")
	}
	if v := t.get("steady"); v != nil {
		boxes := []*value{v}
		if v.kind == isList && len(v.list) > 0 && v.list[0].kind == isList {
			boxes = v.list
		}
		for _, b := range boxes {
			if x := r.box(b, "steady"); x != nil {
				c.Steady = append(c.Steady, *x)
			}
		}
	}
	c.Lanes, c.Follow = r.whole(t, "lanes", 1), r.boolean(t, "follow", true)
	if c.Lanes < 1 {
		r.fail(t.get("lanes").line, "write how many vehicles are in view", "lanes = %d is not above zero", c.Lanes)
	}
	for _, m := range r.tables(t, "marks", "marks = [ { frame = 30, x = 500.2, y = 700.9 } ]") {
		r.known(m, "a mark of [trace]", "frame", "lane", "x", "y")
		h := HandMark{Frame: r.whole(m, "frame", -1), Lane: r.whole(m, "lane", 1)}
		if h.Frame < 0 {
			r.fail(m.line, "name the frame, counted from 0", "a mark of [trace] has no frame")
		}
		if h.Lane < 1 || h.Lane > c.Lanes {
			r.fail(m.line, "lanes count from 1, left to right", "a mark of [trace] is in lane %d of %d", h.Lane, c.Lanes)
		}
		h.X, h.Y = r.place(m, "a mark of [trace]")
		c.Marks = append(c.Marks, h)
	}
	if !c.Follow && len(c.Marks) == 0 {
		r.fail(t.line, "add marks, or leave follow out", "follow = false leaves nothing to measure: there are no marks")
	}
}

func (r *reader) box(v *value, what string) *[4]float64 {
	n := r.numbers(v, what, 4)
	if r.err != nil || n == nil {
		return nil
	}
	if n[2] <= 0 || n[3] <= 0 {
		r.fail(v.line, what+" = [x, y, width, height] in pixels", "%s has no size", what)
	}
	return &[4]float64{n[0], n[1], n[2], n[3]}
}

func (r *reader) questions(t *table, q *Questions) {
	r.known(t, "[questions]", "speeds", "gates", "drop_check")
	for _, v := range r.list(t, "speeds", `speeds = ["60 mph", "100 km/h"]`) {
		s, ok := r.measure(v, "speeds", units.Speed)
		if ok && s.Value <= 0 {
			r.fail(v.line, "leave it out", "a speed of %s is not above zero", v.text)
		}
		q.Speeds = append(q.Speeds, s)
	}
	sort.SliceStable(q.Speeds, func(i, j int) bool { return q.Speeds[i].Value < q.Speeds[j].Value })
	q.DropCheck = r.boolean(t, "drop_check", false)
	r.gates(t, q)
}

// mostGates is how many gates one launch may have.
const mostGates = 1000

func (r *reader) gates(t *table, q *Questions) {
	v := t.get("gates")
	if v == nil || r.err != nil {
		return
	}
	const example = `gates = ["0.5 m", "1 m"], or { every = "0.2 m", to = "2 m" }`
	switch v.kind {
	case isList:
		for _, e := range v.list {
			g, ok := r.measure(e, "gates", units.Length)
			if ok && g.Value <= 0 {
				r.fail(e.line, "gates are heights above the traced point's rest position", "a gate at %s is not above rest", e.text)
			}
			q.Gates = append(q.Gates, g.Value)
		}
		sort.Float64s(q.Gates)
	case isTable:
		r.known(v.table, "gates", "every", "to")
		every, okEvery := r.positive(v.table, "every", units.Length)
		to, okTo := r.positive(v.table, "to", units.Length)
		if !okEvery || !okTo {
			r.fail(v.line, "write "+example, "gates need both every and to")
			return
		}
		n := math.Floor(to.Value/every.Value*(1+1e-9) + 1e-9)
		if n < 1 || n > mostGates {
			r.fail(v.line, "choose 1 to 1000 gates", "gates every %g m up to %g m are %.0f gates", every.Value, to.Value, n)
			return
		}
		for i := 1; i <= int(n); i++ {
			q.Gates = append(q.Gates, float64(i)*every.Value)
		}
	default:
		r.fail(v.line, "write "+example, "gates is %s", v.kind)
	}
}
