package metrology

import (
	"math"
	"strconv"
	"strings"
)

// Digits of the standard uncertainty that are shown, unless a caller says otherwise
// (GUM, JCGM 100:2008, 7.2.6: at most two).
const Digits = 2

// Place returns the decimal place (power of ten) of the last of `digits` significant digits
// of u after rounding: Place(0.0349, 2) = -3, Place(0.0996, 2) = -2 since it rounds to 0.10.
// u must be positive and finite; ok is false otherwise.
func Place(u float64, digits int) (place int, ok bool) {
	if math.IsNaN(u) || math.IsInf(u, 0) || u <= 0 {
		return 0, false
	}
	digits = max(1, digits)
	// The exponent after rounding in decimal, so that a carry is counted.
	_, exponent, _ := strings.Cut(strconv.FormatFloat(u, 'e', digits-1, 64), "e")
	e, err := strconv.Atoi(exponent)
	return e - digits + 1, err == nil
}

// Round writes v to the given decimal place, half away from zero as written in decimal:
// Round(51.849, -1) = "51.8", Round(1862, 2) = "1900". A minus sign on zero is dropped.
func Round(v float64, place int) string { return roundBy(v, place, math.Round) }

// roundBy writes v with the place's digits, rounded by f (math.Round, Floor or Ceil).
// A value within 1e-9 of a step of the place stays on it whatever f is: it was there
// before binary arithmetic.
func roundBy(v float64, place int, f func(float64) float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	steps := v / math.Pow10(place)
	if place < 0 {
		steps = v * math.Pow10(-place)
	}
	if near := math.Round(steps); math.Abs(steps-near) < 1e-9 {
		steps = near
	} else {
		steps = f(steps)
	}
	if math.Abs(steps) > 1<<52 { // the place is finer than the number itself: nothing to round
		return strconv.FormatFloat(v, 'f', max(0, -place), 64)
	}
	if steps == 0 {
		steps = 0 // drops a minus sign
	}
	if place >= 0 {
		return strconv.FormatFloat(steps*math.Pow10(place), 'f', 0, 64)
	}
	return strconv.FormatFloat(steps/math.Pow10(-place), 'f', -place, 64)
}

// Brackets writes "8.150(50) m": the value and its standard uncertainty in the last digits
// (GUM 7.2.2), with the given number of digits of u (Digits for the house rule). Where u
// rounds to a place left of the point, the whole u is written: "1900(200) m".
func Brackets(value, u float64, unit string, digits int) string {
	place, ok := Place(u, digits)
	if !ok {
		return withUnit(strconv.FormatFloat(value, 'g', -1, 64), unit)
	}
	v := Round(value, place)
	uDigits := Round(u, place)
	if place < 0 {
		uDigits = strings.TrimLeft(strings.Replace(uDigits, ".", "", 1), "0")
	}
	return withUnit(v+"("+uDigits+")", unit)
}

// PlusMinus writes "51.80 ms ± 0.39 ms": the value and the half width of its 95 % interval,
// both to the place of the given number of significant digits of the half width.
func PlusMinus(value, half float64, unit string, digits int) string {
	place, ok := Place(half, digits)
	if !ok {
		return withUnit(strconv.FormatFloat(value, 'g', -1, 64), unit)
	}
	return withUnit(Round(value, place), unit) + " ± " + withUnit(Round(half, place), unit)
}

// Ends writes both ends of an interval to the place of u's digits, rounded outwards: what is
// printed holds everything the interval holds.
func Ends(iv Interval, u float64, digits int) (lo, hi string) {
	place, ok := Place(u, digits)
	if !ok {
		place, ok = Place(iv.Width(), digits)
	}
	if !ok {
		return strconv.FormatFloat(iv.Lo, 'g', -1, 64), strconv.FormatFloat(iv.Hi, 'g', -1, 64)
	}
	return roundBy(iv.Lo, place, math.Floor), roundBy(iv.Hi, place, math.Ceil)
}

func withUnit(number, unit string) string {
	if unit == "" {
		return number
	}
	return number + " " + unit
}
