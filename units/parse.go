package units

import (
	"math"
	"strconv"
	"strings"

	"padside/fault"
)

// Coverage95 is the coverage factor of a 95 % interval of a normal distribution,
// the 0.975 quantile. A half width written after "±" is divided by it
// (GUM, JCGM 100:2008, 4.3.4 and table G.1).
const Coverage95 = 1.959963984540054

// longest is the longest text Parse looks at: no quantity needs more.
const longest = 200

// Parse reads a quantity of dimension d. It accepts, with blanks anywhere between parts,
//
//	350 mL     1/8000 s     1.5e3 m       a number or a fraction, then a unit
//	8.15(5) m  8.15(0.05) m  1.25(3)e-3 s  a standard uncertainty in brackets: of the last
//	                                       digits, or, with a point in it, in full (GUM 7.2.2)
//	8.15 m ± 0.10 m   8.15 m ± 1 %         a 95 % expanded uncertainty; "+-" and "+/-" too
//	8.15 ± 0.10 m   (8.15 ± 0.10) m        the same with the unit written once
//
// A percentage after "±" is relative to the value, except beside a value itself written in
// percent, where it is in percentage points. Uncertainties of temperatures carry no offset.
// NaN, infinities, overflow and numbers too small to hold are refused.
// The error is a *fault.Error of kind Request whose hint says which units fit.
func Parse(text string, d Dimension) (Quantity, error) {
	if d <= 0 || d >= dimensionEnd {
		return Quantity{}, fault.Failedf(nil, "", "read %q: unknown dimension %d", text, int(d))
	}
	p := parser{text: text, d: d}
	q, err := p.quantity()
	if err != nil {
		return Quantity{}, err
	}
	return q, nil
}

// parser holds what messages need: the whole text and what it should measure.
type parser struct {
	text string
	d    Dimension
}

func (p *parser) quantity() (Quantity, error) {
	t := strings.TrimSpace(p.text)
	switch {
	case t == "":
		return Quantity{}, p.fail("is empty")
	case len(t) > longest:
		p.text = t[:40] + "..."
		return Quantity{}, p.fail("is too long for a quantity")
	}
	left, right, expanded := cutPlusMinus(t)
	var common string // the unit after the bracket in "(8.15 ± 0.10) m"
	if inner, ok := strings.CutPrefix(left, "("); ok && expanded {
		var rest string
		right, rest, ok = strings.Cut(right, ")")
		if !ok {
			return Quantity{}, p.fail("opens a bracket that it does not close")
		}
		left, common = inner+" "+rest, strings.TrimSpace(rest)
	}
	num, symbol, err := p.number(left)
	if err != nil {
		return Quantity{}, err
	}
	if !expanded {
		return p.convert(num, symbol)
	}
	if num.hasU {
		return Quantity{}, p.fail("states its uncertainty twice")
	}
	half, halfSymbol, err := p.number(right)
	if err != nil {
		return Quantity{}, err
	}
	if half.hasU || half.value < 0 {
		return Quantity{}, p.fail("has no plain positive number after ±")
	}
	if common != "" && halfSymbol == "" {
		halfSymbol = common
	}
	return p.expanded(num, symbol, half.value, halfSymbol)
}

// expanded joins a value and its 95 % half width.
func (p *parser) expanded(num number, symbol string, half float64, halfSymbol string) (Quantity, error) {
	if symbol == "" && fold(halfSymbol) != "%" {
		symbol = halfSymbol // "8.15 ± 0.10 m"
	}
	q, err := p.convert(num, symbol)
	if err != nil {
		return Quantity{}, err
	}
	q.Stated = true
	unit, _ := Lookup(symbol, p.d)
	if fold(halfSymbol) == "%" && unit.Symbol != "%" {
		switch {
		case unit.Offset != 0:
			return Quantity{}, p.fail("takes a percentage of a temperature that does not start at absolute zero")
		case q.Value == 0:
			return Quantity{}, p.fail("takes a percentage of zero, which is no uncertainty")
		}
		q.U = math.Abs(q.Value) * half / 100 / Coverage95
		return q, p.finite(q.U)
	}
	u, err := p.unit(halfSymbol)
	if err != nil {
		return Quantity{}, err
	}
	q.U = u.DeltaToSI(half) / Coverage95
	return q, p.finite(q.U)
}

// convert turns a number and its symbol into SI.
func (p *parser) convert(num number, symbol string) (Quantity, error) {
	unit, err := p.unit(symbol)
	if err != nil {
		return Quantity{}, err
	}
	q := Quantity{Value: unit.ToSI(num.value), Stated: num.hasU, Unit: symbol}
	if num.hasU {
		q.U = unit.DeltaToSI(num.u)
	}
	if err := p.finite(q.Value); err != nil {
		return Quantity{}, err
	}
	if p.d == Temperature && q.Value < 0 {
		return Quantity{}, p.fail("is below absolute zero")
	}
	return q, p.finite(q.U)
}

func (p *parser) finite(v float64) error {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return p.fail("is too large to compute with")
	}
	return nil
}

// unit finds the symbol in the dimension wanted, or says what is wrong with it.
func (p *parser) unit(symbol string) (Unit, error) {
	if u, ok := Lookup(symbol, p.d); ok {
		return u, nil
	}
	if symbol == "" {
		return Unit{}, p.fail("has no unit")
	}
	found := meanings(symbol)
	if len(found) == 0 {
		what := "has an unknown unit " + strconv.Quote(symbol)
		if near := otherCase(symbol, p.d); near != "" {
			what += ` (did you mean "` + near + `"?)`
		}
		return Unit{}, p.fail(what)
	}
	var measures []string
	for _, u := range found {
		measures = append(measures, u.Dimension.phrase())
	}
	return Unit{}, p.fail(strconv.Quote(symbol) + " measures " + strings.Join(measures, " or "))
}

// otherCase finds a unit that differs from the symbol in letter case only.
func otherCase(symbol string, d Dimension) string {
	for _, e := range table() {
		if e.unit.Dimension == d && strings.EqualFold(fold(symbol), e.unit.Symbol) {
			return spaced(e.unit.Symbol)
		}
	}
	return ""
}

// fail makes the one error of this package: what is wrong with the text, and what fits.
func (p *parser) fail(what string) *fault.Error {
	var fit []string
	for _, u := range Fitting(p.d) {
		if u.Symbol != "" {
			fit = append(fit, u.Symbol)
		}
	}
	hint := "write a number and a unit; units that fit " + p.d.phrase() + ": " + strings.Join(fit, ", ")
	if p.d == Ratio {
		hint = `write a plain number such as "0.50", "0.50(5)" or "2 %"`
	}
	return fault.Requestf(hint, "%q %s, where %s is needed", p.text, what, p.d.phrase())
}

// cutPlusMinus splits at the first "±", "+/-" or "+-".
func cutPlusMinus(t string) (left, right string, found bool) {
	at, width := len(t), 0
	for _, sign := range []string{"±", "+/-", "+-"} {
		if i := strings.Index(t, sign); i >= 0 && i < at {
			at, width = i, len(sign)
		}
	}
	if width == 0 {
		return t, "", false
	}
	return strings.TrimSpace(t[:at]), strings.TrimSpace(t[at+width:]), true
}
