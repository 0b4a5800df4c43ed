package units

import (
	"math"
	"strconv"
	"strings"

	"padside/fault"
)

// Print writes a quantity in the unit of its Unit field (the SI unit where that is empty)
// so that Parse returns it again: value and uncertainty to within two units in the last
// place. It is for files; what a person reads is rounded by package metrology.
func Print(q Quantity, d Dimension) (string, error) {
	unit := SI(d)
	if q.Unit != "" {
		var ok bool
		if unit, ok = Lookup(q.Unit, d); !ok {
			return "", fault.Failedf(nil, "", "write a quantity: %q is no unit of %s", q.Unit, d.phrase())
		}
	}
	v, u := unit.FromSI(q.Value), unit.DeltaFromSI(q.U)
	for _, x := range []float64{v, u} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return "", fault.Failedf(nil, "", "write a quantity: %g is no number", x)
		}
	}
	if u < 0 {
		return "", fault.Failedf(nil, "", "write a quantity: its uncertainty %g is negative", u)
	}
	text := printNumber(v, unit.ToSI, q.Value)
	if q.Stated || u > 0 {
		mantissa, exponent, _ := strings.Cut(text, "e")
		if exponent != "" {
			e, _ := strconv.Atoi(exponent)
			u /= math.Pow10(e)
			exponent = "e" + exponent
		}
		digits := trim(u)
		if !strings.ContainsAny(digits, ".e") {
			digits += ".0"
		}
		text = mantissa + "(" + digits + ")" + exponent
	}
	if unit.Symbol == "" {
		return text, nil
	}
	return text + " " + unit.Symbol, nil
}

// printNumber finds the fewest digits (15 to 17) that convert back to si.
func printNumber(v float64, toSI func(float64) float64, si float64) string {
	for digits := 15; digits < 17; digits++ {
		s := strconv.FormatFloat(v, 'g', digits, 64)
		if back, err := strconv.ParseFloat(s, 64); err == nil && toSI(back) == si {
			return trim(back)
		}
	}
	return trim(v)
}

// trim writes v with as few digits as bring it back, with an exponent only where the
// number would otherwise be long.
func trim(v float64) string {
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e15) {
		return strconv.FormatFloat(v, 'e', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}
