package rules

import (
	"fmt"

	"padside/logbook"
	"padside/metrology"
	"padside/study"
	"padside/units"
)

// stated is a condition as a quantity.
type stated struct {
	text string
	q    units.Quantity
	ok   bool
}

// judgeQuantity compares a condition as a quantity.
func judgeQuantity(rule logbook.HeatRule, entries []Stated) Judged {
	flown := make([]stated, len(entries))
	var values []float64
	unit := ""
	for i := range entries {
		c, found := entries[i](rule.Key)
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
	j := Judged{Rule: lim.rule}
	key := Words(rule.Key)
	for _, f := range flown {
		c := Check{Flown: f.text}
		switch {
		case f.text == "":
			c.Verdict, c.Message = NotStated, fmt.Sprintf("its %s is not stated, where %s", key, lim.allowed)
		case !f.ok:
			c.Verdict, c.Message = NotStated, fmt.Sprintf("%s %q is no %s, where %s", key, f.text, rule.Dimension, lim.allowed)
		default:
			v, u := f.q.Value, f.q.U
			c.Value, c.U = &v, &u
			c.Verdict = study.Conform(v, u, lim.low, lim.high)
			c.Message = fmt.Sprintf("%s %s, where %s", key, f.text, lim.allowed)
			if c.Verdict == study.CannotTell {
				c.Message = fmt.Sprintf("%s %s, by its uncertainty anything from %s, where %s", key, f.text, span(f.q, rule.Dimension), lim.allowed)
			}
		}
		j.Checks = append(j.Checks, c)
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
