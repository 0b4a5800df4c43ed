package units

import (
	"math"
	"strconv"
	"strings"
)

// number is a number as written: its value and, where brackets followed, the standard
// uncertainty, both in the unit that comes after.
type number struct {
	value, u float64
	hasU     bool
}

// number reads the number at the start of t and returns the rest, trimmed: the unit.
func (p *parser) number(t string) (number, string, error) {
	t = strings.TrimSpace(t)
	if rest, ok := strings.CutPrefix(t, "−"); ok { // U+2212, the typographic minus
		t = "-" + rest
	}
	mantissa, rest := scanDecimal(t)
	if !hasDigit(mantissa) {
		return number{}, "", p.fail("does not start with a number")
	}
	var brackets string
	var hasBrackets bool
	if after, ok := strings.CutPrefix(rest, "("); ok {
		brackets, rest, ok = strings.Cut(after, ")")
		if !ok {
			return number{}, "", p.fail("opens a bracket that it does not close")
		}
		hasBrackets = true
	}
	exponent, rest := scanExponent(rest)
	n := number{hasU: hasBrackets}
	var err error
	if n.value, err = p.float(mantissa + exponent); err != nil {
		return number{}, "", err
	}
	if hasBrackets {
		if n.u, err = p.uncertainty(mantissa, brackets, exponent); err != nil {
			return number{}, "", err
		}
	}
	if after, ok := strings.CutPrefix(strings.TrimSpace(rest), "/"); ok && startsNumber(after) {
		return p.fraction(n, after)
	}
	rest = strings.TrimSpace(rest)
	if rest != "" && (rest[0] == ',' || rest[0] >= '0' && rest[0] <= '9' || rest[0] == '.') {
		return number{}, "", p.fail("has a number that stops at " + strconv.Quote(rest) +
			" (a decimal point is a point, and digits stand together)")
	}
	return n, rest, nil
}

// fraction divides the number already read by the one that follows: "1/8000".
func (p *parser) fraction(n number, after string) (number, string, error) {
	if n.hasU {
		return number{}, "", p.fail("has an uncertainty inside a fraction")
	}
	divisor, rest, err := p.number(after)
	switch {
	case err != nil:
		return number{}, "", err
	case divisor.hasU:
		return number{}, "", p.fail("has an uncertainty inside a fraction")
	case divisor.value == 0:
		return number{}, "", p.fail("divides by zero")
	}
	return number{value: n.value / divisor.value}, rest, nil
}

// uncertainty reads the digits in brackets: whole digits count in units of the last
// digit of the mantissa; a number with a point or an exponent of its own counts in full.
// The exponent after the brackets holds for both.
func (p *parser) uncertainty(mantissa, brackets, exponent string) (float64, error) {
	digits, rest := scanDecimal(strings.TrimSpace(brackets))
	own, rest := scanExponent(rest)
	if !hasDigit(digits) || rest != "" || strings.ContainsAny(digits, "+-") {
		return 0, p.fail("has no plain digits in its brackets")
	}
	if own == "" && !strings.Contains(digits, ".") {
		if _, decimals, ok := strings.Cut(mantissa, "."); ok {
			digits = shiftPoint(digits, len(decimals))
		}
	}
	if own != "" && exponent != "" {
		a, errA := strconv.Atoi(own[1:])
		b, errB := strconv.Atoi(exponent[1:])
		if errA != nil || errB != nil {
			return 0, p.fail("has an exponent that is too large")
		}
		own, exponent = "e"+strconv.Itoa(a+b), ""
	}
	return p.float(digits + own + exponent)
}

// shiftPoint moves the decimal point of whole digits to the left, in text, so that the
// result is the nearest number to what was written.
func shiftPoint(digits string, places int) string {
	if n := places + 1 - len(digits); n > 0 {
		digits = strings.Repeat("0", n) + digits
	}
	at := len(digits) - places
	return digits[:at] + "." + digits[at:]
}

func (p *parser) float(s string) (float64, error) {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, p.fail("is too large to compute with")
	}
	significand, _, _ := strings.Cut(strings.ToLower(s), "e")
	if v == 0 && strings.ContainsAny(significand, "123456789") {
		return 0, p.fail("is too small to compute with")
	}
	return v, nil
}

// scanDecimal takes a sign, digits and at most one point from the start of t.
func scanDecimal(t string) (taken, rest string) {
	i := 0
	if i < len(t) && (t[i] == '-' || t[i] == '+') {
		i++
	}
	point := false
	for i < len(t) && (isDigit(t[i]) || t[i] == '.' && !point) {
		point = point || t[i] == '.'
		i++
	}
	return t[:i], t[i:]
}

// scanExponent takes "e-3" or "E+3" from the start of t; a letter e without digits is
// left for the unit.
func scanExponent(t string) (taken, rest string) {
	if t == "" || t[0] != 'e' && t[0] != 'E' {
		return "", t
	}
	i := 1
	if i < len(t) && (t[i] == '-' || t[i] == '+') {
		i++
	}
	from := i
	for i < len(t) && isDigit(t[i]) {
		i++
	}
	if i == from {
		return "", t
	}
	return t[:i], t[i:]
}

func startsNumber(t string) bool {
	t = strings.TrimSpace(t)
	return t != "" && (isDigit(t[0]) || t[0] == '.')
}

func hasDigit(s string) bool { return strings.ContainsAny(s, "0123456789") }

func isDigit(b byte) bool { return b >= '0' && b <= '9' }
