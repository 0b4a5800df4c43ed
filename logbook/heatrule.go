package logbook

import (
	"errors"
	"fmt"
	"strings"

	"padside/fault"
	"padside/units"
)

// heatRule reads one rule: key = "words", or key = { is, same, within, least, most }.
func (r *reader) heatRule(e entry) HeatRule {
	u := HeatRule{Key: e.key, Dimension: conditionDimension(e.key), written: HeatRuleText{Key: e.key}}
	if e.value.kind == isText && u.Dimension == 0 {
		u.Words, u.written.Is = e.value.text, e.value.text
		return u
	}
	example := e.key + ` = { same = true, within = "10 mL" }`
	if u.Dimension == 0 {
		example = e.key + ` = "open class", or { same = true }`
	}
	if e.value.kind != isTable {
		r.fail(e.line, "write "+example, "the rule %s is %s, where { ... } is needed", e.key, e.value.kind)
		return u
	}
	t := e.value.table
	r.known(t, "the rule "+e.key, "is", "same", "within", "least", "most")
	u.Same = r.boolean(t, "same", false)
	u.written.Same = u.Same
	for key, to := range map[string]*string{"is": &u.written.Is, "within": &u.written.Within, "least": &u.written.Least, "most": &u.written.Most} {
		if v := t.get(key); v != nil {
			*to = v.text
		}
	}
	if u.Dimension == 0 {
		u.Dimension = r.ruleDimension(t)
	}
	if u.Dimension == 0 {
		u.Words = r.text(t, "is")
		for _, key := range []string{"within", "least", "most"} {
			if v := t.get(key); v != nil {
				r.fail(v.line, `write a number with a unit, such as "80 mm"`, "the rule %s: %s = %q is no quantity", e.key, key, v.text)
			}
		}
	} else {
		r.ruleQuantities(t, e.key, &u)
	}
	r.ruleHolds(t, example, &u)
	return u
}

// ruleDimension is what a rule about a key of the user's own measures: the first dimension that all its quantities have. 0: words.
func (r *reader) ruleDimension(t *table) units.Dimension {
	if t.get("within") == nil && t.get("least") == nil && t.get("most") == nil {
		return 0
	}
next:
	for _, d := range units.Dimensions() {
		for _, key := range []string{"is", "within", "least", "most"} {
			v := t.get(key)
			if v == nil || key == "within" && strings.HasSuffix(strings.TrimSpace(v.text), "%") {
				continue
			}
			if _, err := units.Parse(v.text, d); err != nil {
				continue next
			}
		}
		return d
	}
	return 0
}

func (r *reader) ruleQuantities(t *table, key string, u *HeatRule) {
	for _, one := range []struct {
		key string
		to  **units.Quantity
	}{{"is", &u.Is}, {"least", &u.Least}, {"most", &u.Most}} {
		v := t.get(one.key)
		if v == nil {
			continue
		}
		q, ok := r.measure(v, "the rule "+key+", "+one.key, u.Dimension)
		if ok && q.Stated {
			r.fail(v.line, `say how far off is allowed with within = "..."`, "the rule %s: %s carries an uncertainty; a limit is a number", key, one.key)
		}
		*one.to = &q
	}
	if v := t.get("within"); v != nil {
		u.Within = r.tolerance(v, key, u.Dimension)
	}
	if u.Least != nil && u.Most != nil && u.Least.Value > u.Most.Value {
		r.fail(t.get("least").line, "least is the lower of the two", "the rule %s: least lies above most", key)
	}
}

// tolerance reads how far a value may lie off: a difference, or a part in per cent.
func (r *reader) tolerance(v *value, key string, d units.Dimension) *Tolerance {
	out := &Tolerance{Text: v.text}
	q, err := units.Parse(v.text, d)
	if strings.HasSuffix(strings.TrimSpace(v.text), "%") && d != units.Ratio {
		q, err = units.Parse(v.text, units.Ratio)
		out.Value, out.Relative = q.Value, true
	} else if u, ok := units.Lookup(q.Unit, d); err == nil && ok {
		out.Value = u.DeltaToSI(u.FromSI(q.Value)) // a difference of temperatures has no zero point
	} else {
		out.Value = q.Value
	}
	if err != nil {
		hint := "write a number and a unit in quotes, such as " + sample(d)
		var fe *fault.Error
		if errors.As(err, &fe) && fe.Hint != "" {
			hint = fe.Hint
		}
		r.fail(v.line, hint, "the rule %s, within: %s", key, oneLine(err.Error()))
		return out
	}
	of := d
	if out.Relative {
		of = units.Ratio
	}
	if of != units.Temperature && !r.real(v.line, "the rule "+key+", within", q, of) {
		return out
	}
	if of == units.Temperature && out.Value > bounds[of].most {
		r.fail(v.line, `write within = "5 K"`, "the rule %s, within: %g K is beyond anything real", key, out.Value)
	}
	if out.Value < 0 || q.Stated {
		r.fail(v.line, `write within = "10 mL"`, "the rule %s: within = %q is no tolerance", key, v.text)
	}
	return out
}

// ruleHolds refuses rules that ask for nothing, or for two things at once.
func (r *reader) ruleHolds(t *table, example string, u *HeatRule) {
	fail := func(hint, format string, args ...any) {
		r.fail(t.line, hint, "the rule %s %s", u.Key, fmt.Sprintf(format, args...))
	}
	stated := u.Is != nil || u.Words != ""
	limits := u.Least != nil || u.Most != nil
	switch {
	case !u.Same && !stated && !limits:
		fail("write "+example, "asks for nothing")
	case u.Same && stated:
		fail("write either same = true or is", "says both what is the same for all and what it is")
	case u.Within != nil && !u.Same && u.Is == nil:
		fail("add is, or same = true", "says within, but not of what")
	case u.Dimension != 0 && (u.Same || u.Is != nil) && u.Within == nil:
		fail(`add within = "..."`, "does not say how far off a quantity may lie")
	}
}
