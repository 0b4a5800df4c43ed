package desk

import (
	"math"
	"sort"
	"strings"

	"padside/explain"
	"padside/fault"
	"padside/flight"
	"padside/logbook"
	"padside/units"
)

// explained is a flight file made ready to be fitted: what is unknown, and how values of it make inputs of the model.
type explained struct {
	model    flightModel
	base     []inputs // one per launch: as stated in file and launch
	unknowns []explain.Unknown
	sets     []setting                  // what each unknown sets
	of       map[string]units.Dimension // what each input measures
	symbol   map[string]string          // the unit in which it is written
}

// setting is what an unknown does to the inputs: it is the value of key (dragArea stands for the drag coefficient), or a factor on it, of one
// launch or, at -1, of all.
type setting struct {
	key    string
	launch int
	factor bool
}

// common ends the name of an unknown that is a factor on what all launches state of an input: a gauge errs alike in all of them.
const common = "_common_factor"

// dragArea is the unknown that stands for the drag coefficient: drag knows only the product of coefficient and cross-section.
const dragArea = "drag_area"

// frontal is the cross-section that a drag coefficient refers to, m2.
func frontal(in inputs) float64 {
	d := in.value["body_diameter"]
	return math.Pi / 4 * d * d
}

// known is an input as stated: by the flight file, or by the launch as its own.
type known struct {
	units.Quantity
	own bool
}

// fromLaunches takes over what launches state themselves: a condition named as an input stands for the file's.
func fromLaunches(f *logbook.FlightFile, launches []*logbook.Launch) (*explained, []map[string]known) {
	e := &explained{model: flightModel{f}, of: map[string]units.Dimension{}, symbol: map[string]string{}}
	var stated []map[string]known
	for _, l := range launches {
		q := map[string]known{}
		for _, i := range f.Inputs {
			q[i.Key], e.of[i.Key], e.symbol[i.Key] = known{i.Quantity, false}, i.Dimension, i.Quantity.Unit
		}
		for _, c := range l.Conditions {
			key := c.Key
			switch key {
			case "air_temperature", "elevation", "latitude", "air_pressure":
				key = "site." + key
			default:
				if _, known := f.Input(key); !known {
					continue
				}
			}
			if c.Dimension != 0 {
				q[key], e.of[key], e.symbol[key] = known{c.Quantity, true}, c.Dimension, c.Quantity.Unit
			}
		}
		in := e.model.best()
		for k, v := range q {
			in.value[k] = v.Value
		}
		e.base, stated = append(e.base, in), append(stated, q)
	}
	return e, stated
}

// possible is how far an input can be from its value, and the least and most it can be at all.
func possible(key string, in inputs) (least, most float64) {
	v := in.value[key]
	switch key {
	case "discharge":
		return 0.3, 1
	case "exponent":
		return 1, 1.4
	case dragArea:
		return 0, 3 * frontal(in)
	case "thrust_scale":
		return 0.1, 5
	case "water":
		return 1e-6, 0.98 * in.value["volume"]
	case "pressure":
		return 0.1 * v, 3 * v
	case "site.air_temperature":
		return 220, 330
	case "site.air_pressure":
		return 3e4, 1.1e5
	case "site.elevation":
		return v - 1000, v + 1000
	case "site.latitude":
		return -math.Pi / 2, math.Pi / 2
	}
	return 0.3 * v, 3 * v
}

// customary are first guesses of inputs that a flight file need not state.
var customary = map[string]float64{"discharge": 0.95, "exponent": 1.3, "thrust_scale": 1}

// free makes the unknowns: those named, which the footage alone decides, and all that the file or a launch states with an uncertainty. named
// nil chooses them by the kind of the vehicle. coasting says that the footage shows the coast.
func (e *explained) free(named []string, stated []map[string]known, coasting bool) error {
	chosen := named
	if chosen == nil {
		chosen = []string{"thrust_scale"}
		if e.model.file.Kind == "bottle" {
			chosen = []string{"discharge", "exponent"}
		}
		if coasting {
			chosen = append(chosen, dragArea)
		}
	}
	freed := map[string]bool{}
	for _, key := range chosen {
		key = strings.TrimSpace(key)
		if key == "drag_coefficient" {
			key = dragArea
		}
		if !e.mayBeFree(key) {
			return fault.Requestf("free some of: "+strings.Join(e.fittable(), ", "), "%q is nothing that can be fitted", key)
		}
		freed[key] = true
		e.each(key, func(launch int, in inputs) {
			least, most := possible(key, in)
			e.add(explain.Unknown{Key: key, Start: math.Min(math.Max(e.first(key, in), least), most), Least: least, Most: most}, setting{key, launch, false})
		}, stated)
	}
	var keys []string
	for _, q := range stated {
		for key, v := range q {
			if v.U > 0 && !freed[key] && !(freed[dragArea] && (key == "drag_coefficient" || key == "body_diameter")) {
				freed[key] = true
				keys = append(keys, key)
			}
		}
	}
	sort.Strings(keys)
	for _, key := range keys {
		e.state(key, stated)
	}
	return nil
}

// state adds an input that is known beforehand. What each of several launches states for itself errs half in common (a gauge, a jug) and half by
// itself (how it was read): half of the variance is a factor on all, half each launch's own.
func (e *explained) state(key string, stated []map[string]known) {
	same := true
	for _, q := range stated {
		same = same && !q[key].own && q[key].Quantity == stated[0][key].Quantity
	}
	add := func(v units.Quantity, launch int, share float64) {
		least, most := possible(key, e.base[max(launch, 0)])
		u := v.U * share
		e.add(explain.Unknown{Key: key, Start: v.Value, U: u, Least: math.Max(least, v.Value-8*u), Most: math.Min(most, v.Value+8*u)}, setting{key, launch, false})
	}
	if same || len(stated) == 1 {
		add(stated[0][key].Quantity, -1, 1)
		return
	}
	relative, n := 0.0, 0.0
	for i, q := range stated {
		v := q[key].Quantity
		if v.U == 0 || v.Value == 0 {
			continue
		}
		add(v, i, math.Sqrt(0.5))
		relative, n = relative+v.U/math.Abs(v.Value), n+1
	}
	if u := relative / n * math.Sqrt(0.5); n > 1 {
		e.add(explain.Unknown{Key: key + common, Start: 1, U: u, Least: 1 - 8*u, Most: 1 + 8*u}, setting{key, -1, true})
	}
}

// each calls add once for an input that all launches share, or for every launch where they differ.
func (e *explained) each(key string, add func(launch int, in inputs), stated []map[string]known) {
	for _, q := range stated[1:] {
		if q[key].Quantity != stated[0][key].Quantity {
			for i := range e.base {
				add(i, e.base[i])
			}
			return
		}
	}
	add(-1, e.base[0])
}

func (e *explained) add(u explain.Unknown, s setting) {
	u.Launch = s.launch + 1
	e.unknowns, e.sets = append(e.unknowns, u), append(e.sets, s)
}

// first is where the search for an unknown begins.
func (e *explained) first(key string, in inputs) float64 {
	if key == dragArea {
		return math.Max(in.value["drag_coefficient"], 0.1) * frontal(in)
	}
	if v, ok := in.value[key]; ok {
		return v
	}
	if key == "exponent" && e.model.file.Moist {
		if site, err := in.site(); err == nil {
			return e.model.bottle(in, site).Exponent
		}
	}
	return customary[key]
}

// known lists what can be fitted.
func (e *explained) fittable() []string {
	out := []string{dragArea}
	for _, i := range e.model.file.Inputs {
		if i.Key != "drag_coefficient" && !strings.HasPrefix(i.Key, "site.") {
			out = append(out, i.Key)
		}
	}
	more := []string{"thrust_scale"}
	if e.model.file.Kind == "bottle" {
		more = []string{"discharge", "exponent"}
	}
	for _, k := range more {
		if _, stated := e.model.file.Input(k); !stated {
			out = append(out, k)
		}
	}
	sort.Strings(out)
	return out
}

func (e *explained) mayBeFree(key string) bool {
	for _, k := range e.fittable() {
		if k == key {
			return true
		}
	}
	return false
}

// inputs are those of a launch with values of the unknowns.
func (e *explained) inputs(launch int, values []float64) inputs {
	b := &e.base[launch]
	in := inputs{value: make(map[string]float64, len(b.value)+2), impulse: b.impulse}
	for k, v := range b.value {
		in.value[k] = v
	}
	area := math.NaN() // not fitted
	for _, factors := range [...]bool{false, true} {
		for j, v := range values {
			set := e.sets[j]
			switch {
			case set.factor != factors || set.launch >= 0 && set.launch != launch:
			case set.key == dragArea:
				area = v
			case factors:
				in.value[set.key] *= v
			default:
				in.value[set.key] = v
			}
		}
	}
	if !math.IsNaN(area) {
		in.value["drag_coefficient"] = area / frontal(in)
	}
	return in
}

// fly is the model as package explain wants it.
func (e *explained) fly(launch int, values []float64, until float64) (*flight.Flight, error) {
	return e.model.flyUntil(e.inputs(launch, values), until)
}

// unit is the SI unit of an unknown.
func (e *explained) unit(key string) string {
	if strings.HasSuffix(key, common) {
		return siSymbol(units.Ratio)
	}
	if key == dragArea {
		return "m2"
	}
	if d, ok := e.of[key]; ok {
		return siSymbol(d)
	}
	return siSymbol(units.Ratio)
}
