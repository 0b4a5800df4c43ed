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
	keys     []string // of each unknown, the input it sets; dragArea stands for the drag coefficient
	launch   []int    // of each unknown: the launch it belongs to, -1 for all
}

// dragArea is the unknown that stands for the drag coefficient: drag knows only the product of coefficient and cross-section.
const dragArea = "drag_area"

// frontal is the cross-section that a drag coefficient refers to, m2.
func frontal(in inputs) float64 {
	d := in.value["body_diameter"]
	return math.Pi / 4 * d * d
}

// fromLaunches takes over what launches state themselves: a condition named as an input stands for the file's.
func fromLaunches(f *logbook.FlightFile, launches []*logbook.Launch) (*explained, []map[string]units.Quantity) {
	e := &explained{model: flightModel{f}}
	var stated []map[string]units.Quantity
	for _, l := range launches {
		q := map[string]units.Quantity{}
		for _, i := range f.Inputs {
			q[i.Key] = i.Quantity
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
				q[key] = c.Quantity
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
func (e *explained) free(named []string, stated []map[string]units.Quantity, coasting bool) error {
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
			return fault.Requestf("free some of: "+strings.Join(e.known(), ", "), "%q is nothing that can be fitted", key)
		}
		freed[key] = true
		e.each(key, func(launch int, in inputs) {
			least, most := possible(key, in)
			e.add(explain.Unknown{Key: key, Start: math.Min(math.Max(e.first(key, in), least), most), Least: least, Most: most}, launch)
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
		e.each(key, func(launch int, in inputs) {
			v := stated[max(launch, 0)][key]
			if v.U == 0 {
				return
			}
			least, most := possible(key, in)
			e.add(explain.Unknown{Key: key, Start: v.Value, U: v.U, Least: math.Max(least, v.Value-8*v.U), Most: math.Min(most, v.Value+8*v.U)}, launch)
		}, stated)
	}
	return nil
}

// each calls add once for an input that all launches share, or for every launch where they state values of their own.
func (e *explained) each(key string, add func(launch int, in inputs), stated []map[string]units.Quantity) {
	same := true
	for _, q := range stated[1:] {
		same = same && q[key] == stated[0][key]
	}
	if same {
		add(-1, e.base[0])
		return
	}
	for i := range e.base {
		add(i, e.base[i])
	}
}

func (e *explained) add(u explain.Unknown, launch int) {
	e.unknowns, e.keys, e.launch = append(e.unknowns, u), append(e.keys, u.Key), append(e.launch, launch)
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
func (e *explained) known() []string {
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
	for _, k := range e.known() {
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
	area := -1.0
	for j, v := range values {
		if e.launch[j] >= 0 && e.launch[j] != launch {
			continue
		}
		if e.keys[j] == dragArea {
			area = v
			continue
		}
		in.value[e.keys[j]] = v
	}
	if area >= 0 {
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
	if key == dragArea {
		return "m2"
	}
	if in, ok := e.model.file.Input(key); ok {
		return siSymbol(in.Dimension)
	}
	return siSymbol(units.Ratio)
}
