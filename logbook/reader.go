package logbook

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"padside/fault"
	"padside/units"
)

// reader takes values out of tables. The first thing wrong is kept in err; after it every
// method returns zero values, so that a section is read without a check at each key.
type reader struct {
	file  string // name for messages
	draft bool   // the scale may be missing
	err   error
}

func (r *reader) fail(line int, hint, format string, args ...any) {
	if r.err == nil {
		r.err = fault.Requestf(hint, "%s:%d: %s", r.file, line, fmt.Sprintf(format, args...))
	}
}

// known refuses keys that are not in the list, naming the nearest that is.
func (r *reader) known(t *table, section string, keys ...string) {
	for _, e := range t.entries {
		if contains(keys, e.key) {
			continue
		}
		hint := "known here: " + strings.Join(keys, ", ")
		if near := nearestKey(e.key, keys); near != "" {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
		where := ""
		if section != "" {
			where = " in " + section
		}
		r.fail(e.line, hint, "unknown key %q%s", e.key, where)
		return
	}
}

func contains[T comparable](list []T, s T) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// take returns the value under key when it is there and of the kind wanted.
func (r *reader) take(t *table, key string, want kind, example string) *value {
	v := t.get(key)
	if v == nil || r.err != nil {
		return nil
	}
	if v.kind != want {
		r.fail(v.line, "write "+example, "%s is %s, where %s is needed", key, v.kind, want)
		return nil
	}
	return v
}

func (r *reader) section(t *table, key string) *table {
	v := r.take(t, key, isTable, "["+key+"] and its keys below it")
	if v == nil {
		return nil
	}
	return v.table
}

func (r *reader) text(t *table, key string) string {
	v := r.take(t, key, isText, key+` = "..."`)
	if v == nil {
		return ""
	}
	return v.text
}

func (r *reader) boolean(t *table, key string, otherwise bool) bool {
	v := r.take(t, key, isBool, key+" = true or "+key+" = false, without quotes")
	if v == nil {
		return otherwise
	}
	return v.text == "true"
}

func (r *reader) number(t *table, key string) (float64, bool) {
	v := r.take(t, key, isNumber, key+" = 12.5, without quotes")
	if v == nil {
		return 0, false
	}
	return r.finite(v, key)
}

// finite reads a number that is neither infinite nor NaN.
func (r *reader) finite(v *value, what string) (float64, bool) {
	if v.kind != isNumber {
		r.fail(v.line, "write it without quotes: 512.0", "%s is %s, where a number is needed", what, v.kind)
		return 0, false
	}
	x, ok := parseNumber(v.text)
	if !ok {
		r.fail(v.line, "give a finite number", "%s = %s is not a finite number", what, v.text)
		return 0, false
	}
	if math.Abs(x) > mostNumber {
		r.fail(v.line, fmt.Sprintf("give a number of %g to %g", -mostNumber, mostNumber), "%s = %s is beyond anything real", what, v.text)
		return 0, false
	}
	return x, true
}

func parseNumber(text string) (float64, bool) {
	text = strings.ReplaceAll(text, "_", "")
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		var n int64
		if n, err = strconv.ParseInt(text, 0, 64); err != nil {
			return 0, false
		}
		x = float64(n)
	}
	return x, !math.IsNaN(x) && !math.IsInf(x, 0)
}

// mostFrames bounds whole numbers: frames, lanes, turns.
const mostFrames = 1 << 30

func (r *reader) whole(t *table, key string, otherwise int) int {
	v := t.get(key)
	x, ok := r.number(t, key)
	if !ok {
		return otherwise
	}
	if x != math.Trunc(x) || math.Abs(x) > mostFrames {
		r.fail(v.line, "write "+key+" = 12", "%s = %s is no whole number", key, v.text)
		return otherwise
	}
	return int(x)
}

// quantity reads a number with a unit.
func (r *reader) quantity(t *table, key string, d units.Dimension) (units.Quantity, bool) {
	v := t.get(key)
	if v == nil || r.err != nil {
		return units.Quantity{}, false
	}
	return r.measure(v, key, d)
}

// measure reads a value as a quantity of dimension d.
func (r *reader) measure(v *value, what string, d units.Dimension) (units.Quantity, bool) {
	if r.err != nil {
		return units.Quantity{}, false
	}
	text := v.text
	if v.kind != isText {
		if v.kind != isNumber {
			r.fail(v.line, fmt.Sprintf("write a number and a unit in quotes, such as %s", sample(d)), "%s is %s, where a %s with a unit is needed", what, v.kind, d)
			return units.Quantity{}, false
		}
		// a bare number: let units say which units fit
	}
	q, err := units.Parse(text, d)
	if err != nil {
		hint := "write a number and a unit in quotes, such as " + sample(d)
		message := err.Error()
		var fe *fault.Error
		if errors.As(err, &fe) && fe.Hint != "" {
			hint = fe.Hint
		}
		r.fail(v.line, hint, "%s: %s", what, oneLine(message))
		return units.Quantity{}, false
	}
	if !r.real(v.line, what, q, d) {
		return units.Quantity{}, false
	}
	return q, true
}

// sample is a quantity of the dimension as it would be written.
func sample(d units.Dimension) string {
	return strconv.Quote("8.15(5) " + units.SI(d).Symbol)
}

// positive is quantity with a check that the value is above zero.
func (r *reader) positive(t *table, key string, d units.Dimension) (units.Quantity, bool) {
	q, ok := r.quantity(t, key, d)
	if ok && q.Value <= 0 {
		hint := "give a value above zero, or leave it out"
		if key == "pressure" {
			hint = "give the pressure above that of the air around it, as a gauge shows it: a value above zero"
		}
		r.fail(t.get(key).line, hint, "%s is not above zero", key)
		return units.Quantity{}, false
	}
	return q, ok
}

// list returns the values under key.
func (r *reader) list(t *table, key, example string) []*value {
	v := r.take(t, key, isList, example)
	if v == nil || r.tooLong(v, key) {
		return nil
	}
	return v.list
}

// longest is how long lists may be: what is worked out grows with them, and real files stay far below.
var longest = map[string]int{"speeds": 100, "gates": mostGates, "average_speeds": 1000, "stretches": 1000, "times": 100_000, "marks": 100_000,
	"points": 1000, "steady": 100, "conditions": 1000, "camera": 16, "modes": 100, "known": 100, "rows": 100, "question": 100}

// tooLong refuses a list of more entries than it may have.
func (r *reader) tooLong(v *value, key string) bool {
	n := len(v.list)
	if v.table != nil {
		n = len(v.table.entries)
	}
	most, ok := longest[key]
	if !ok || n <= most {
		return false
	}
	r.fail(v.line, fmt.Sprintf("leave at most %d", most), "%s has %d entries", key, n)
	return true
}

// tables returns the tables in the list under key.
func (r *reader) tables(t *table, key, example string) []*table {
	var out []*table
	for i, v := range r.list(t, key, example) {
		if v.kind != isTable {
			r.fail(v.line, "write "+example, "%s: entry %d is %s, where { ... } is needed", key, i+1, v.kind)
			return nil
		}
		out = append(out, v.table)
	}
	return out
}

// place reads x and y, both required.
func (r *reader) place(t *table, what string) (x, y float64) {
	for _, c := range []struct {
		key string
		to  *float64
	}{{"x", &x}, {"y", &y}} {
		v, ok := r.number(t, c.key)
		if !ok {
			r.fail(t.line, "give x and y in pixels", "%s has no %s", what, c.key)
		}
		*c.to = v
	}
	return x, y
}

// numbers reads a list of n numbers.
func (r *reader) numbers(v *value, what string, n int) []float64 {
	if v.kind != isList || len(v.list) != n {
		r.fail(v.line, fmt.Sprintf("write %s = [x, y, width, height] in pixels", what), "%s is no list of %d numbers", what, n)
		return nil
	}
	out := make([]float64, n)
	for i, e := range v.list {
		out[i], _ = r.finite(e, what)
	}
	return out
}
