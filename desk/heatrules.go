package desk

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"padside/logbook"
	"padside/metrology"
	"padside/study"
	"padside/units"
)

// HeatRule is a rule as it was applied. Quantities are SI.
type HeatRule struct {
	Key   string   `json:"key"`
	Words string   `json:"words"`          // what it allows, for a person
	Same  bool     `json:"same,omitempty"` // all entries alike
	Is    *float64 `json:"is,omitempty"`   // what it is about: as written, or the middle of what the entries state
	Text  string   `json:"text,omitempty"` // where words are compared
	Low   *float64 `json:"low,omitempty"`
	High  *float64 `json:"high,omitempty"`
	Unit  string   `json:"unit,omitempty"`
}

// HeatCheck is an entry held against a rule.
type HeatCheck struct {
	Rule    int           `json:"rule"` // from 1
	Verdict study.Verdict `json:"verdict"`
	Flown   string        `json:"flown"` // as the launch or heat file writes it; empty: not stated
	Value   *float64      `json:"value,omitempty"`
	U       *float64      `json:"standard_uncertainty,omitempty"`
	Message string        `json:"message"` // what was flown, what is allowed
}

// notStated is the verdict on a condition that nobody wrote down.
const notStated study.Verdict = "not-stated"

// judged is a rule with every entry's check.
type judged struct {
	HeatRule
	checks []HeatCheck // one per entry
}

// judge holds all entries against all rules.
func (r *racing) judge() []judged {
	var out []judged
	for i, rule := range r.file.Rules {
		var j judged
		if rule.Dimension == 0 {
			j = r.judgeWords(rule)
		} else {
			j = r.judgeQuantity(rule)
		}
		for k := range j.checks {
			j.checks[k].Rule = i + 1
		}
		out = append(out, j)
	}
	return out
}

// folded is words without what a hand may write either way: capitals and spaces.
func folded(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }

// judgeWords compares a condition as words. Where all are to be alike, what most entries write is what the others are held against; where no
// reading has more than the others there is none, and nobody keeps the rule.
func (r *racing) judgeWords(rule logbook.HeatRule) judged {
	j := judged{HeatRule: HeatRule{Key: rule.Key, Same: rule.Same, Text: rule.Words}}
	flown := make([]string, len(r.entries))
	count := map[string]int{}
	for i := range r.entries {
		e := &r.entries[i]
		c, _ := e.condition(rule.Key)
		flown[i] = c.Text
		if c.Text != "" {
			count[folded(c.Text)]++
		}
	}
	if rule.Same {
		j.Text = commonest(flown, count)
	}
	key := keyWords(rule.Key)
	j.Words = fmt.Sprintf("%s: %s", key, j.Text)
	if rule.Same {
		j.Words = key + ": the same for all"
		if j.Text != "" {
			j.Words += ", " + j.Text
		}
	}
	for i := range flown {
		c := HeatCheck{Flown: flown[i], Verdict: study.Outside}
		switch {
		case flown[i] == "":
			c.Verdict, c.Message = notStated, fmt.Sprintf("its %s is not stated, where %s is allowed", key, orSame(j.Text))
		case folded(flown[i]) == folded(j.Text):
			c.Verdict, c.Message = study.Inside, fmt.Sprintf("%s %s", key, flown[i])
		default:
			c.Message = fmt.Sprintf("%s %s, where %s is allowed", key, flown[i], orSame(j.Text))
		}
		j.checks = append(j.checks, c)
	}
	return j
}

func orSame(text string) string {
	if text == "" {
		return "one for all"
	}
	return text
}

// commonest is what more entries write than anything else; empty where nothing is.
func commonest(flown []string, count map[string]int) string {
	best, most, twice := "", 0, false
	done := map[string]bool{}
	for _, f := range flown {
		k := folded(f)
		if f == "" || done[k] {
			continue
		}
		done[k] = true
		switch n := count[k]; {
		case n > most:
			best, most, twice = f, n, false
		case n == most:
			twice = true
		}
	}
	if twice {
		return ""
	}
	return best
}

// stated is a condition as a quantity.
type stated struct {
	text string
	q    units.Quantity
	ok   bool
}

// judgeQuantity compares a condition as a quantity.
func (r *racing) judgeQuantity(rule logbook.HeatRule) judged {
	flown := make([]stated, len(r.entries))
	var values []float64
	unit := ""
	for i := range r.entries {
		e := &r.entries[i]
		c, found := e.condition(rule.Key)
		if !found {
			continue
		}
		s := stated{c.Text, c.Quantity, true}
		if c.Dimension != rule.Dimension {
			q, err := units.Parse(c.Text, rule.Dimension)
			s.q, s.ok = q, err == nil
		}
		if s.ok {
			values = append(values, s.q.Value)
			if unit == "" {
				unit = s.q.Unit
			}
		}
		flown[i] = s
	}
	lim := limitsOf(rule, values, unit)
	j := judged{HeatRule: lim.rule}
	key := keyWords(rule.Key)
	for _, f := range flown {
		c := HeatCheck{Flown: f.text}
		switch {
		case f.text == "":
			c.Verdict, c.Message = notStated, fmt.Sprintf("its %s is not stated, where %s", key, lim.allowed)
		case !f.ok:
			c.Verdict, c.Message = notStated, fmt.Sprintf("%s %q is no %s, where %s", key, f.text, rule.Dimension, lim.allowed)
		default:
			v, u := f.q.Value, f.q.U
			c.Value, c.U = &v, &u
			c.Verdict = study.Conform(v, u, lim.low, lim.high)
			c.Message = fmt.Sprintf("%s %s, where %s", key, f.text, lim.allowed)
			if c.Verdict == study.CannotTell {
				c.Message = fmt.Sprintf("%s %s, by its uncertainty anything from %s, where %s", key, f.text, span(f.q, rule.Dimension), lim.allowed)
			}
		}
		j.checks = append(j.checks, c)
	}
	return j
}

// span writes the 95 % interval of a stated quantity in its own unit.
func span(q units.Quantity, d units.Dimension) string {
	u, ok := units.Lookup(q.Unit, d)
	if !ok {
		u = units.SI(d)
	}
	sd := u.DeltaFromSI(q.U)
	v := u.FromSI(q.Value)
	lo, hi := metrology.Ends(metrology.Interval{Lo: v - 1.96*sd, Hi: v + 1.96*sd}, sd, metrology.Digits)
	return fmt.Sprintf("%s to %s %s", lo, hi, u.Symbol)
}

// limits is what a rule allows.
type limits struct {
	rule      HeatRule
	low, high float64 // SI; infinite where there is none
	allowed   string
}

// limitsOf works out a rule's limits. Where all entries are to be alike they are about the middle one of what they state (study.Middle), taken
// as a number.
func limitsOf(rule logbook.HeatRule, values []float64, unit string) limits {
	l := limits{low: math.Inf(-1), high: math.Inf(1)}
	for _, q := range []*units.Quantity{rule.Is, rule.Least, rule.Most} {
		if q != nil {
			unit = q.Unit
			break
		}
	}
	u, ok := units.Lookup(unit, rule.Dimension)
	if !ok {
		u = units.SI(rule.Dimension)
	}
	number := func(v float64) string { return strconv.FormatFloat(u.FromSI(v), 'g', 6, 64) + " " + u.Symbol }
	var parts, allowed []string
	about := math.NaN()
	switch {
	case rule.Is != nil:
		about = rule.Is.Value
		parts = append(parts, fmt.Sprintf("%s within %s", number(about), rule.Within.Text))
		allowed = parts
	case rule.Same && len(values) > 0:
		about = study.Middle(values)
		parts = append(parts, fmt.Sprintf("the same for all within %s, about the middle one, %s", rule.Within.Text, number(about)))
		allowed = append(allowed, fmt.Sprintf("%s within %s", number(about), rule.Within.Text))
	case rule.Same:
		parts = append(parts, fmt.Sprintf("the same for all within %s", rule.Within.Text))
		allowed = parts
	}
	if !math.IsNaN(about) {
		half := rule.Within.Half(about)
		l.low, l.high = about-half, about+half
		l.rule.Is = &about
	}
	for _, end := range []struct {
		q    *units.Quantity
		word string
		to   *float64
		pick func(x, y float64) float64
	}{{rule.Least, "least", &l.low, math.Max}, {rule.Most, "most", &l.high, math.Min}} {
		if end.q == nil {
			continue
		}
		*end.to = end.pick(*end.to, end.q.Value)
		words := fmt.Sprintf("at %s %s", end.word, number(end.q.Value))
		parts, allowed = append(slices.Clone(parts), words), append(slices.Clone(allowed), words)
	}
	l.rule.Key, l.rule.Same, l.rule.Unit = rule.Key, rule.Same, units.SI(rule.Dimension).Symbol
	l.rule.Words = keyWords(rule.Key) + ": " + strings.Join(parts, ", ")
	l.allowed = strings.Join(allowed, ", ") + " is allowed"
	if !math.IsInf(l.low, 0) {
		l.rule.Low = &l.low
	}
	if !math.IsInf(l.high, 0) {
		l.rule.High = &l.high
	}
	return l
}

// keyWords writes a key as words.
func keyWords(key string) string { return strings.ReplaceAll(key, "_", " ") }

// line is an entry with its checks, before it is put in order. i counts it from 0.
func (e *racer) line(rules []judged, i int) HeatEntry {
	out := HeatEntry{Number: e.Number, Name: e.Name, Title: e.launch.Title, Vehicle: e.vehicle(), Setup: e.launch.Setup, Launch: e.Given, Lane: e.Lane,
		Standing: Classified, Reasons: []string{}, Checks: []HeatCheck{}}
	if e.sheet != nil {
		footage := e.sheet.Footage
		out.Footage = &footage
	}
	for _, rule := range rules {
		if e.unread {
			break // nothing is known of it
		}
		c := rule.checks[i]
		out.Checks = append(out.Checks, c)
		if c.Verdict == study.Outside || c.Verdict == notStated {
			out.Standing, out.Reasons = NotClassified, append(out.Reasons, c.Message)
		}
	}
	out.Problem = e.problem
	if e.problem != "" && out.Standing == Classified {
		out.Standing = e.standing
	}
	return out
}

// condition is what an entry states under a key: itself, else its launch file, where "vehicle" and "setup" count as conditions too.
func (e *racer) condition(key string) (logbook.Condition, bool) {
	own := []logbook.Condition{{Key: "vehicle", Text: e.vehicle()}, {Key: "setup", Text: e.launch.Setup}}
	for _, list := range [][]logbook.Condition{e.Conditions, e.launch.Conditions, own} {
		for _, c := range list {
			if c.Key == key && c.Text != "" {
				return c, true
			}
		}
	}
	return logbook.Condition{}, false
}

// vehicle is the name of the entry's own vehicle: of several in the launch file, separated by commas, that of its lane.
func (e *racer) vehicle() string {
	names := strings.Split(e.launch.Vehicle, ",")
	if e.Lane > 0 && len(names) == e.launch.Trace.Lanes {
		return strings.TrimSpace(names[e.Lane-1])
	}
	return e.launch.Vehicle
}
