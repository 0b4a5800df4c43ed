package metrology

import "padside/units"

// lopsided is how much longer one side of an interval may be than the other and still be
// written as "±" with the longer side: a quarter.
const lopsided = 1.25

// Text writes an answer for a reader, in the given unit (of the answer's dimension):
// "51.80 ms ± 0.39 ms" where its 95 % interval is about symmetric (the longer side counts),
// "51.80 ms (51.30 to 52.90 ms)" where it is not, and the reason where there is no value.
// digits is the number of significant digits of the half width that is shown.
func (a Answer) Text(unit units.Unit, digits int) string {
	if a.Status != Measured || a.Value == nil || a.U == nil || a.Interval == nil {
		if a.Reason != "" {
			return a.Reason
		}
		return string(a.Status)
	}
	v := unit.FromSI(*a.Value)
	iv := Interval{unit.FromSI(a.Interval[0]), unit.FromSI(a.Interval[1])}
	below, above := v-iv.Lo, iv.Hi-v
	half := max(below, above)
	if half <= lopsided*min(below, above) {
		return PlusMinus(v, half, unit.Symbol, digits)
	}
	lo, hi := Ends(iv, iv.Width()/2, digits)
	place, ok := Place(iv.Width()/2, digits)
	if !ok {
		return PlusMinus(v, half, unit.Symbol, digits)
	}
	return withUnit(Round(v, place), unit.Symbol) + " (" + lo + " to " + withUnit(hi, unit.Symbol) + ")"
}
