package desk

import (
	"math"
	"slices"
	"sort"
	"strings"

	"padside/explain"
	"padside/fault"
	"padside/predict"
	"padside/units"
)

// What of a model's inputs is unknown: what is named, and what is stated with an uncertainty.

// customary are first guesses of inputs that a flight file need not state.
var customary = map[string]float64{"discharge": 0.95, "exponent": 1.3, "thrust_scale": 1}

// free makes the unknowns: those named, which the footage alone decides, and all that the file or a launch states with an uncertainty. named
// nil chooses them by the kind of the vehicle. coasting says that the footage shows the coast.
func (e *explained) free(named []string, stated []map[string]known, coasting bool) error {
	chosen := named
	if chosen == nil {
		chosen = []string{"thrust_scale"}
		if e.model.File.Kind == "bottle" {
			chosen = []string{"discharge", "exponent"}
		}
		if coasting {
			chosen = append(chosen, dragArea)
		}
	}
	freed := map[string]bool{}
	if err := e.mayFree(chosen); err != nil {
		return err
	}
	for _, key := range chosen {
		key = asUnknown(key)
		freed[key] = true
		e.each(key, func(launch int, in predict.Inputs) {
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
func (e *explained) each(key string, add func(launch int, in predict.Inputs), stated []map[string]known) {
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
func (e *explained) first(key string, in predict.Inputs) float64 {
	if key == dragArea {
		return math.Max(in.Value["drag_coefficient"], 0.1) * frontal(in)
	}
	if v, ok := in.Value[key]; ok {
		return v
	}
	if key == "exponent" && e.model.File.Moist {
		if site, err := in.Site(); err == nil {
			return e.model.Bottle(in, site).Exponent
		}
	}
	return customary[key]
}

// fittable lists what can be fitted.
func (e *explained) fittable() []string {
	out := []string{dragArea}
	for _, i := range e.model.File.Inputs {
		if i.Key != "drag_coefficient" && !strings.HasPrefix(i.Key, "site.") {
			out = append(out, i.Key)
		}
	}
	more := []string{"thrust_scale"}
	if e.model.File.Kind == "bottle" {
		more = []string{"discharge", "exponent"}
	}
	for _, k := range more {
		if _, stated := e.model.File.Input(k); !stated {
			out = append(out, k)
		}
	}
	sort.Strings(out)
	return out
}

// asUnknown is the unknown that a person means.
func asUnknown(named string) string {
	if key := strings.TrimSpace(named); key != "drag_coefficient" {
		return key
	}
	return dragArea
}

// mayFree refuses names of what cannot be fitted.
func (e *explained) mayFree(named []string) error {
	for _, n := range named {
		if key := asUnknown(n); !slices.Contains(e.fittable(), key) {
			return fault.Requestf("free some of: "+strings.Join(e.fittable(), ", "), "%q is nothing that can be fitted", key)
		}
	}
	return nil
}
