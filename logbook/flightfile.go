package logbook

import (
	"path/filepath"

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
	Firing *flight.Firing       // of a motor given by a thrust stand's record, whose reduced curve is Thrust; nil otherwise

	Moist        bool // exponent = "moist": of the moist air at the start, flight.MoistExponent
	WaterInertia bool // the water's inertia counts
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
	data, err := readText(path, "flight")
	if err != nil {
		return nil, err
	}
	return ParseFlight(data, path)
}

// ParseFlight reads a flight file's content; path is where it lies.
func ParseFlight(data []byte, path string) (*FlightFile, error) {
	name := filepath.Base(path)
	root, err := textTree(name, data)
	if err != nil {
		return nil, err
	}
	r := &reader{file: name}
	f := &FlightFile{Path: path}
	r.format(root)
	f.Title, f.Kind = r.text(root, "title"), r.text(root, "kind")
	switch f.Kind {
	case "bottle":
		r.known(root, "", append(keysOf(bottleKeys[:]), "format", "kind", "title", "water_inertia", "launch_tube", "site")...)
		f.Moist, f.WaterInertia = moist(root), r.boolean(root, "water_inertia", false)
		r.inputs(root, "", bottleKeys[:], f)
		r.within(root, f, "discharge", 0, 1, "give a value up to 1; where footage asks for more, pressure, nozzle or scale are off")
		r.within(root, f, "exponent", 1, 5./3, "give a value from 1 (as warm as at the start) to 1.4 (dry air that exchanges no heat), or \"moist\"")
		if t := r.section(root, "launch_tube"); t != nil {
			r.known(t, "launch_tube", keysOf(tubeKeys[:])...)
			r.inputs(t, "launch_tube.", tubeKeys[:], f)
		}
	case "motor":
		r.known(root, "", append(keysOf(motorKeys[:]), "format", "kind", "title", "thrust", "firing", "class", "site")...)
		r.inputs(root, "", motorKeys[:], f)
		r.motor(root, f)
	default:
		line := 1
		if v := root.get("kind"); v != nil {
			line = v.line
		}
		r.fail(line, `write kind = "bottle" or "motor"`, "there is no flight of kind %q", f.Kind)
	}
	r.within(root, f, "drag_coefficient", 0, 3, "give a value of 0 to 3: 0.3 to 0.75 is usual")
	if t := r.section(root, "site"); t != nil {
		r.known(t, "[site]", keysOf(siteKeys[:])...)
		r.inputs(t, "site.", siteKeys[:], f)
	}
	if r.err != nil {
		return nil, r.err
	}
	return f, nil
}

// moist says whether the exponent is to be that of moist air.
func moist(t *table) bool {
	v := t.get("exponent")
	return v != nil && v.kind == isText && v.text == "moist"
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
		if k.key == "exponent" && f.Moist {
			continue
		}
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

// within refuses an input outside what can be.
func (r *reader) within(t *table, f *FlightFile, key string, least, most float64, hint string) {
	if in, ok := f.Input(key); ok && !(in.Quantity.Value >= least && in.Quantity.Value <= most) {
		r.fail(t.get(key).line, hint, "%s of %g is outside %.4g to %.4g", key, in.Quantity.Value, least, most)
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
	if v := t.get("firing"); v != nil {
		ways++
		r.firing(r.text(t, "firing"), v.line, f)
	}
	if _, stated := f.Input("thrust_scale"); f.Firing != nil && !stated {
		i := f.Firing.Impulse // what the record does not tell of the impulse is spread over the curve
		f.Inputs = append(f.Inputs, FlightInput{"thrust_scale", units.Quantity{Value: 1, U: i.U / i.Value}, units.Ratio})
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
		r.fail(t.line, `give thrust = "curve.csv" (time_s,force_n), or firing = "stand.csv", or mean_thrust and burn_time, or class = "C6"`, "the thrust is given in %d ways, where one is needed", ways)
	}
}
