package logbook

import (
	"encoding/csv"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"padside/fault"
	"padside/flight"
	"padside/units"
)

// FlightFile is a flight file: the inputs of a flight model. Each may carry an uncertainty.
type FlightFile struct {
	Path   string
	Title  string
	Kind   string // "bottle", "motor"
	Inputs []FlightInput
	Thrust []flight.ThrustPoint // of a motor given by its curve; nil otherwise
	Class  string               // of a motor given by its class, such as "C6"; empty otherwise
}

// FlightInput is one input, SI.
type FlightInput struct {
	Key       string // as written; "launch_tube.length", "site.elevation" for keys in tables
	Quantity  units.Quantity
	Dimension units.Dimension
}

// Input returns the input of a key.
func (f *FlightFile) Input(key string) (FlightInput, bool) {
	for _, in := range f.Inputs {
		if in.Key == key {
			return in, true
		}
	}
	return FlightInput{}, false
}

// flightKey is a key of a flight file: what it measures, whether it must be there, whether it may be zero.
type flightKey struct {
	key      string
	of       units.Dimension
	needed   bool
	mayBeNil bool // zero or below is a value
}

var bottleKeys = [...]flightKey{{"volume", units.Volume, true, false}, {"water", units.Volume, true, true}, {"pressure", units.Pressure, true, false},
	{"nozzle_diameter", units.Length, true, false}, {"dry_mass", units.Mass, true, false}, {"body_diameter", units.Length, true, false},
	{"drag_coefficient", units.Ratio, true, true}, {"exponent", units.Ratio, false, false}, {"discharge", units.Ratio, false, false}}

var motorKeys = [...]flightKey{{"mean_thrust", units.Force, false, false}, {"burn_time", units.Time, false, false}, {"thrust_scale", units.Ratio, false, false},
	{"propellant_mass", units.Mass, true, true}, {"dry_mass", units.Mass, true, false}, {"body_diameter", units.Length, true, false},
	{"drag_coefficient", units.Ratio, true, true}, {"rod_length", units.Length, false, false}}

var siteKeys = [...]flightKey{{"elevation", units.Length, false, true}, {"air_temperature", units.Temperature, false, true},
	{"air_pressure", units.Pressure, false, false}, {"latitude", units.Angle, false, true}}

var tubeKeys = [...]flightKey{{"length", units.Length, true, false}, {"diameter", units.Length, true, false}}

// ReadFlight reads a flight file. Paths in it are resolved against its folder.
func ReadFlight(path string) (*FlightFile, error) {
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fault.Requestf("give the path of a flight file", "there is no file %s", path)
	}
	if err != nil {
		return nil, &fault.Error{Kind: fault.Request, Cause: err, Message: "cannot read " + path + ": " + oneLine(err.Error()), Hint: "name a flight file, and check its permissions"}
	}
	return ParseFlight(data, path)
}

// ParseFlight reads a flight file's content; path is where it lies.
func ParseFlight(data []byte, path string) (*FlightFile, error) {
	name := filepath.Base(path)
	root, err := parseTree(name, data)
	if err != nil {
		return nil, err
	}
	r := &reader{file: name}
	f := &FlightFile{Path: path}
	r.format(root)
	f.Title, f.Kind = r.text(root, "title"), r.text(root, "kind")
	switch f.Kind {
	case "bottle":
		r.known(root, "", append(keysOf(bottleKeys[:]), "format", "kind", "title", "launch_tube", "site")...)
		r.inputs(root, "", bottleKeys[:], f)
		if t := r.section(root, "launch_tube"); t != nil {
			r.known(t, "launch_tube", keysOf(tubeKeys[:])...)
			r.inputs(t, "launch_tube.", tubeKeys[:], f)
		}
	case "motor":
		r.known(root, "", append(keysOf(motorKeys[:]), "format", "kind", "title", "thrust", "class", "site")...)
		r.inputs(root, "", motorKeys[:], f)
		r.motor(root, f)
	default:
		line := 1
		if v := root.get("kind"); v != nil {
			line = v.line
		}
		r.fail(line, `write kind = "bottle" or "motor"`, "there is no flight of kind %q", f.Kind)
	}
	if t := r.section(root, "site"); t != nil {
		r.known(t, "[site]", keysOf(siteKeys[:])...)
		r.inputs(t, "site.", siteKeys[:], f)
	}
	if r.err != nil {
		return nil, r.err
	}
	return f, nil
}

func keysOf(list []flightKey) []string {
	var out []string
	for _, k := range list {
		out = append(out, k.key)
	}
	return out
}

// inputs reads the keys of one table.
func (r *reader) inputs(t *table, prefix string, keys []flightKey, f *FlightFile) {
	for _, k := range keys {
		read := r.positive
		if k.mayBeNil {
			read = r.quantity
		}
		q, ok := read(t, k.key, k.of)
		if ok {
			f.Inputs = append(f.Inputs, FlightInput{prefix + k.key, q, k.of})
		} else if k.needed && t.get(k.key) == nil {
			r.fail(t.line, "add "+k.key+" = "+sample(k.of), "%s is missing", prefix+k.key)
		}
	}
}

// motor reads how the thrust is given: by a curve, by mean and burn time, or by a class.
func (r *reader) motor(t *table, f *FlightFile) {
	_, mean := f.Input("mean_thrust")
	_, burn := f.Input("burn_time")
	ways := 0
	if v := t.get("thrust"); v != nil {
		ways++
		r.thrust(r.text(t, "thrust"), v.line, f)
	}
	if v := t.get("class"); v != nil {
		ways++
		f.Class = r.text(t, "class")
		if _, _, _, ok := flight.MotorClass(f.Class); !ok && r.err == nil {
			r.fail(v.line, `write class = "C6": a letter and the mean thrust in newtons`, "%q is no motor class", f.Class)
		}
	}
	if mean || burn {
		ways++
		if mean != burn {
			r.fail(t.line, "give both mean_thrust and burn_time", "only one of mean_thrust and burn_time is given")
		}
	}
	if ways != 1 {
		r.fail(t.line, `give thrust = "curve.csv" (time_s,force_n), or mean_thrust and burn_time, or class = "C6"`, "the thrust is given in %d ways, where one is needed", ways)
	}
}

// mostThrustPoints bounds a thrust curve: a second at 100 kHz.
const mostThrustPoints = 100000

// thrust reads a thrust curve: lines of time (s) and force (N), a heading before them, lines that begin with # or ; left out.
func (r *reader) thrust(given string, line int, f *FlightFile) {
	if r.err != nil {
		return
	}
	path := given
	if !filepath.IsAbs(path) {
		path = filepath.Join(filepath.Dir(f.Path), filepath.FromSlash(given))
	}
	file, err := os.Open(path)
	if err != nil {
		r.fail(line, "check the path; it is taken from the folder of the flight file", "cannot read the thrust curve %s", given)
		return
	}
	defer file.Close()
	c := csv.NewReader(file)
	c.Comment, c.TrimLeadingSpace, c.FieldsPerRecord = '#', true, -1
	for n := 1; ; n++ {
		row, err := c.Read()
		if err == io.EOF {
			break
		}
		at, _ := c.FieldPos(0)
		if err != nil || len(row) < 2 || len(f.Thrust) > mostThrustPoints {
			r.fail(line, "write lines of time in seconds and force in newtons: 0.05, 12.3", "%s:%d: is no line of time and force", given, at)
			return
		}
		var p [2]float64
		bad := false
		for i := range p {
			v, err := strconv.ParseFloat(strings.TrimSpace(row[i]), 64)
			p[i], bad = v, bad || err != nil
		}
		if bad && n == 1 {
			continue // the heading
		}
		switch last := len(f.Thrust) - 1; {
		case bad:
			r.fail(line, "write lines of time in seconds and force in newtons: 0.05, 12.3", "%s:%d: is no line of time and force", given, at)
			return
		case last < 0 && p[0] != 0:
			r.fail(line, "let the curve begin with time 0, the ignition", "%s:%d: the thrust curve begins at %g s", given, at, p[0])
			return
		case last >= 0 && p[0] <= f.Thrust[last].Time:
			r.fail(line, "sort the lines by time, each time once", "%s:%d: time %g s does not follow %g s", given, at, p[0], f.Thrust[last].Time)
			return
		case p[1] < 0:
			r.fail(line, "take the offset of the load cell out first", "%s:%d: a force of %g N pulls the rocket back", given, at, p[1])
			return
		}
		f.Thrust = append(f.Thrust, flight.ThrustPoint{Time: p[0], Force: p[1]})
	}
	if len(f.Thrust) < 2 {
		r.fail(line, "give at least two lines of time and force", "%s holds no thrust curve", given)
	}
}
