package rules

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"padside/logbook"
	"padside/study"
	"padside/units"
)

// limits is what a rule allows.
type limits struct {
	rule      Rule
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
	l.rule.Words = Words(rule.Key) + ": " + strings.Join(parts, ", ")
	l.allowed = strings.Join(allowed, ", ") + " is allowed"
	if !math.IsInf(l.low, 0) {
		l.rule.Low = &l.low
	}
	if !math.IsInf(l.high, 0) {
		l.rule.High = &l.high
	}
	return l
}
