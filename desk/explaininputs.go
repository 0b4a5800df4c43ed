package desk

import (
	"math"
	"strings"

	"padside/explain"
	"padside/flight"
	"padside/logbook"
	"padside/predict"
	"padside/units"
)

// explained is a flight file made ready to be fitted: what is unknown, and how values of it make inputs of the model.
type explained struct {
	model    predict.Model
	base     []predict.Inputs // one per launch: as stated in file and launch
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
func frontal(in predict.Inputs) float64 {
	d := in.Value["body_diameter"]
	return math.Pi / 4 * d * d
}

// known is an input as stated: by the flight file, or by the launch as its own.
type known struct {
	units.Quantity
	own bool
}

// fromLaunches takes over what launches state themselves: a condition named as an input stands for the file's.
func fromLaunches(f *logbook.FlightFile, launches []*logbook.Launch) (*explained, []map[string]known) {
	e := &explained{model: predict.Model{File: f}, of: map[string]units.Dimension{}, symbol: map[string]string{}}
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
		in := e.model.Best()
		for k, v := range q {
			in.Value[k] = v.Value
		}
		e.base, stated = append(e.base, in), append(stated, q)
	}
	return e, stated
}

// possible is how far an input can be from its value, and the least and most it can be at all.
func possible(key string, in predict.Inputs) (least, most float64) {
	v := in.Value[key]
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
		return 1e-6, 0.98 * in.Value["volume"]
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

// inputs are those of a launch with values of the unknowns.
func (e *explained) inputs(launch int, values []float64) predict.Inputs {
	b := &e.base[launch]
	in := predict.Inputs{Value: make(map[string]float64, len(b.Value)+2), Impulse: b.Impulse}
	for k, v := range b.Value {
		in.Value[k] = v
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
				in.Value[set.key] *= v
			default:
				in.Value[set.key] = v
			}
		}
	}
	if !math.IsNaN(area) {
		in.Value["drag_coefficient"] = area / frontal(in)
	}
	return in
}

// fly is the model as package explain wants it.
func (e *explained) fly(launch int, values []float64, until float64) (*flight.Flight, error) {
	return e.model.FlyUntil(e.inputs(launch, values), until)
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
