package units

import "strings"

// Unit is one unit of one dimension. A number v of it is (v + Offset)*Num/Den in SI.
type Unit struct {
	Symbol    string // as padside prints it
	Dimension Dimension
	Num, Den  float64 // exact decimal numbers: their quotient is the conversion factor
	Offset    float64 // added before scaling; not zero only for degC and degF
}

// ToSI converts a value of the unit to SI.
func (u Unit) ToSI(v float64) float64 { return scale(v+u.Offset, u.Num, u.Den) }

// FromSI converts an SI value to the unit.
func (u Unit) FromSI(v float64) float64 { return scale(v, u.Den, u.Num) - u.Offset }

// DeltaToSI converts a difference or an uncertainty to SI: no offset.
func (u Unit) DeltaToSI(v float64) float64 { return scale(v, u.Num, u.Den) }

// DeltaFromSI converts a difference or an uncertainty in SI to the unit: no offset.
func (u Unit) DeltaFromSI(v float64) float64 { return scale(v, u.Den, u.Num) }

// scale returns v*num/den, leaving out what does nothing so that 1 m stays exact.
func scale(v, num, den float64) float64 {
	if num != 1 {
		v *= num
	}
	if den != 1 {
		v /= den
	}
	return v
}

// entry is one row of the table: a unit and the other ways to write it.
type entry struct {
	unit    Unit
	aliases string // separated by spaces
}

// row shortens the table below.
func row(d Dimension, symbol string, num, den float64, aliases string) entry {
	return entry{Unit{Symbol: symbol, Dimension: d, Num: num, Den: den}, aliases}
}

// Defining constants, all exact by definition (NIST SP 811 appendix B.8 and its notes).
const (
	foot       = 0.3048          // m
	inch       = 0.0254          // m
	pound      = 0.45359237      // kg
	gravity    = 9.80665         // m/s2, standard acceleration of free fall
	poundForce = 4.4482216152605 // N, pound * gravity
	gallonUS   = 3.785411784e-3  // m3, 231 cubic inches
	gallonUK   = 4.54609e-3      // m3
	atmosphere = 101325          // Pa
	pi         = 3.14159265358979323846
)

// table returns every unit, the one padside prefers for a dimension first. Symbols
// and aliases are in the folded spelling of fold. Factors: NIST SP 811, appendix B.8.
func table() []entry {
	celsius := row(Temperature, "degC", 1, 1, "C celsius")
	celsius.unit.Offset = 273.15 // SP 811 B.8: T/K = t/degC + 273.15
	fahrenheit := row(Temperature, "degF", 5, 9, "F fahrenheit")
	fahrenheit.unit.Offset = 459.67 // SP 811 B.8: T/K = (t/degF + 459.67)/1.8
	return []entry{
		row(Length, "m", 1, 1, "metre metres meter meters"),
		row(Length, "mm", 1, 1e3, "millimetre millimetres millimeter millimeters"),
		row(Length, "cm", 1, 1e2, "centimetre centimetres centimeter centimeters"),
		row(Length, "um", 1, 1e6, "micrometre micrometres micrometer micrometers"),
		row(Length, "nm", 1, 1e9, ""),
		row(Length, "km", 1e3, 1, "kilometre kilometres kilometer kilometers"),
		row(Length, "in", inch, 1, "inch inches"),
		row(Length, "ft", foot, 1, "foot feet"),
		row(Length, "yd", 0.9144, 1, "yard yards"),
		row(Length, "mi", 1609.344, 1, "mile miles"),

		row(Area, "m2", 1, 1, "sqm"),
		row(Area, "cm2", 1, 1e4, "sqcm"),
		row(Area, "mm2", 1, 1e6, "sqmm"),
		row(Area, "in2", inch*inch, 1, "sqin"),
		row(Area, "ft2", foot*foot, 1, "sqft"),

		row(Volume, "L", 1, 1e3, "l litre litres liter liters dm3"),
		row(Volume, "mL", 1, 1e6, "ml millilitre millilitres milliliter milliliters cm3 cc"),
		row(Volume, "cL", 1, 1e5, "cl"),
		row(Volume, "m3", 1, 1, ""),
		row(Volume, "floz", gallonUS, 128, "USfloz"),
		row(Volume, "pt", gallonUS, 8, "USpt pint pints"),
		row(Volume, "qt", gallonUS, 4, "USqt quart quarts"),
		row(Volume, "gal", gallonUS, 1, "USgal gallon gallons"),
		row(Volume, "UKfloz", gallonUK, 160, "impfloz"),
		row(Volume, "UKgal", gallonUK, 1, "impgal"),

		row(Mass, "kg", 1, 1, "kilogram kilograms"),
		row(Mass, "g", 1, 1e3, "gram grams"),
		row(Mass, "mg", 1, 1e6, ""),
		row(Mass, "lb", pound, 1, "lbs pound pounds"),
		row(Mass, "oz", pound, 16, "ounce ounces"),

		row(Time, "s", 1, 1, "sec second seconds"),
		row(Time, "ms", 1, 1e3, "millisecond milliseconds"),
		row(Time, "us", 1, 1e6, "microsecond microseconds"),
		row(Time, "ns", 1, 1e9, "nanosecond nanoseconds"),
		row(Time, "min", 60, 1, "minute minutes"),
		row(Time, "h", 3600, 1, "hour hours"),

		row(Frequency, "Hz", 1, 1, "hertz fps frames/s s-1"),
		row(Frequency, "kHz", 1e3, 1, ""),
		row(Frequency, "MHz", 1e6, 1, ""),

		row(Speed, "m/s", 1, 1, "mps ms-1"),
		row(Speed, "km/h", 1, 3.6, "kmh kph km/hr"),
		row(Speed, "mph", 0.44704, 1, "mi/h"),
		row(Speed, "ft/s", foot, 1, "ft/sec"),
		row(Speed, "kn", 1852, 3600, "kt kts knot knots"),
		row(Speed, "mm/s", 1, 1e3, ""),
		row(Speed, "km/s", 1e3, 1, ""),

		row(Acceleration, "m/s2", 1, 1, "ms-2 m/s/s"),
		row(Acceleration, "g", gravity, 1, "gn g0"),
		row(Acceleration, "ft/s2", foot, 1, ""),
		row(Acceleration, "km/s2", 1e3, 1, ""),

		row(Force, "N", 1, 1, "newton newtons"),
		row(Force, "kN", 1e3, 1, ""),
		row(Force, "lbf", poundForce, 1, ""),
		row(Force, "kgf", gravity, 1, "kp"),

		row(Pressure, "bar", 1e5, 1, "barg bars"),
		row(Pressure, "psi", poundForce, inch*inch, "psig lbf/in2"),
		row(Pressure, "kPa", 1e3, 1, ""),
		row(Pressure, "MPa", 1e6, 1, ""),
		row(Pressure, "hPa", 1e2, 1, ""),
		row(Pressure, "mbar", 1e2, 1, ""),
		row(Pressure, "Pa", 1, 1, "pascal pascals N/m2"),
		row(Pressure, "atm", atmosphere, 1, ""),
		row(Pressure, "mmHg", 133.3224, 1, "torr Torr"),
		row(Pressure, "inHg", 3386.389, 1, ""),

		row(Energy, "J", 1, 1, "joule joules Nm"),
		row(Energy, "kJ", 1e3, 1, ""),
		row(Energy, "ftlbf", foot*poundForce, 1, ""),

		row(Impulse, "Ns", 1, 1, "kgm/s"),
		row(Impulse, "lbfs", poundForce, 1, ""),

		celsius,
		fahrenheit,
		row(Temperature, "K", 1, 1, "kelvin"),

		row(Angle, "deg", pi, 180, "degree degrees"),
		row(Angle, "rad", 1, 1, "radian radians"),
		row(Angle, "mrad", 1, 1e3, ""),

		row(Pixels, "px", 1, 1, "pixel pixels"),

		row(Ratio, "", 1, 1, ""),
		row(Ratio, "%", 1, 1e2, "percent"),
		row(Ratio, "ppm", 1, 1e6, ""),
	}
}

// spaced gives back the blanks that folding took from a symbol, for print.
func spaced(symbol string) string {
	switch symbol {
	case "floz":
		return "fl oz"
	case "UKfloz":
		return "UK fl oz"
	case "UKgal":
		return "UK gal"
	case "ftlbf":
		return "ft lbf"
	case "Ns":
		return "N s"
	case "lbfs":
		return "lbf s"
	}
	return symbol
}

// fold brings the spellings of a symbol together: blanks, dots and carets go, superscripts
// become digits, both Unicode micro signs become "u" and the degree sign "deg".
func fold(symbol string) string {
	return strings.NewReplacer(
		" ", "", "\t", "", "\u00a0", "", "\u202f", "", "·", "", "⋅", "", "*", "", "^", "",
		"²", "2", "³", "3", "⁻", "-", "¹", "1", "−", "-", "µ", "u", "μ", "u",
		"℃", "degC", "℉", "degF", "°", "deg", "º", "deg",
	).Replace(symbol)
}

// Lookup finds the unit that symbol stands for in the given dimension. Letter case counts
// (mPa is not MPa).
func Lookup(symbol string, d Dimension) (Unit, bool) {
	for _, u := range meanings(symbol) {
		if u.Dimension == d {
			return u, true
		}
	}
	return Unit{}, false
}

// meanings lists the units a symbol stands for, in any dimension.
func meanings(symbol string) []Unit {
	var found []Unit
	s := fold(symbol)
	for _, e := range table() {
		if s == e.unit.Symbol || named(s, e.aliases) {
			u := e.unit
			u.Symbol = spaced(u.Symbol)
			found = append(found, u)
		}
	}
	return found
}

func named(s, aliases string) bool {
	for a := range strings.FieldsSeq(aliases) {
		if s == a {
			return true
		}
	}
	return false
}

// Fitting lists the units of a dimension, the preferred one first.
func Fitting(d Dimension) []Unit {
	var fit []Unit
	for _, e := range table() {
		if e.unit.Dimension == d {
			u := e.unit
			u.Symbol = spaced(u.Symbol)
			fit = append(fit, u)
		}
	}
	return fit
}

// SI returns the dimension's SI unit, the one everything inside padside is in.
// Pixels have none; their unit is the pixel.
func SI(d Dimension) Unit {
	for _, u := range Fitting(d) {
		if u.Num == 1 && u.Den == 1 && u.Offset == 0 {
			return u
		}
	}
	return Unit{Dimension: d, Num: 1, Den: 1}
}
