package units

import (
	"errors"
	"math"
	"strings"
	"testing"

	"padside/fault"
)

// ulps is how far a conversion may be from the exact value: one rounding of the number,
// one of the product, one of the quotient.
const ulps = 4e-16

func near(got, want, rel float64) bool {
	return got == want || math.Abs(got-want) <= rel*math.Abs(want)
}

func TestParse(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text   string
		d      Dimension
		value  float64
		u      float64
		stated bool
		unit   string
	}{
		{"350 mL", Volume, 350e-6, 0, false, "mL"},
		{"5.2 bar", Pressure, 5.2e5, 0, false, "bar"},
		{"1600 Hz", Frequency, 1600, 0, false, "Hz"},
		{"30000/1001 fps", Frequency, 30000.0 / 1001, 0, false, "fps"},
		{"1/8000 s", Time, 1.0 / 8000, 0, false, "s"},
		{"1 / 8000 s", Time, 1.0 / 8000, 0, false, "s"},
		{"8.15(5) m", Length, 8.15, 0.05, true, "m"},
		{"8.15(12) m", Length, 8.15, 0.12, true, "m"},
		{"8.15(0.05) m", Length, 8.15, 0.05, true, "m"},
		{"815(5)mm", Length, 0.815, 0.005, true, "mm"},
		{"1.25(3)e-3 s", Time, 1.25e-3, 3e-5, true, "s"},
		{"1.25(0.03)E-3 s", Time, 1.25e-3, 3e-5, true, "s"},
		{"142(1) g", Mass, 0.142, 0.001, true, "g"},
		{"8.15(0) m", Length, 8.15, 0, true, "m"},
		{"8.15 m ± 0.10 m", Length, 8.15, 0.10 / Coverage95, true, "m"},
		{"8.15 m +- 10 cm", Length, 8.15, 0.10 / Coverage95, true, "m"},
		{"8.15 m+/-1 %", Length, 8.15, 0.0815 / Coverage95, true, "m"},
		{"-8.15 m ± 1%", Length, -8.15, 0.0815 / Coverage95, true, "m"},
		{"8.15 ± 0.10 m", Length, 8.15, 0.10 / Coverage95, true, "m"},
		{"(8.15 ± 0.10) m", Length, 8.15, 0.10 / Coverage95, true, "m"},
		{"0.50(5)", Ratio, 0.5, 0.05, true, ""},
		{"0.50 ± 0.10", Ratio, 0.5, 0.10 / Coverage95, true, ""},
		{"0.50 ± 1 %", Ratio, 0.5, 0.005 / Coverage95, true, ""},
		{"2 %", Ratio, 0.02, 0, false, "%"},
		{"2 % ± 0.1 %", Ratio, 0.02, 0.001 / Coverage95, true, "%"},
		{"100 ppm", Ratio, 1e-4, 0, false, "ppm"},
		{"18 degC", Temperature, 291.15, 0, false, "degC"},
		{"18(2) °C", Temperature, 291.15, 2, true, "°C"},
		{"68 °F ± 9 °F", Temperature, 293.15, 5 / Coverage95, true, "°F"},
		{"-40 degF", Temperature, 233.15, 0, false, "degF"},
		{"7(1) deg", Angle, 7 * math.Pi / 180, math.Pi / 180, true, "deg"},
		{"−3 deg", Angle, -3 * math.Pi / 180, 0, false, "deg"},
		{"20 g", Acceleration, 196.133, 0, false, "g"},
		{"20 g", Mass, 0.020, 0, false, "g"},
		{"9.8 m/s²", Acceleration, 9.8, 0, false, "m/s²"},
		{"9.8 m/s^2", Acceleration, 9.8, 0, false, "m/s^2"},
		{"10 N·s", Impulse, 10, 0, false, "N·s"},
		{"0.5 px", Pixels, 0.5, 0, false, "px"},
		{"5.86 µm", Length, 5.86e-6, 0, false, "µm"},
		{"5.86 μm", Length, 5.86e-6, 0, false, "μm"},
		{".5 m", Length, 0.5, 0, false, "m"},
		{"12 fl oz", Volume, 12 * 3.785411784e-3 / 128, 0, false, "fl oz"},
	} {
		t.Run(c.text, func(t *testing.T) {
			t.Parallel()
			q, err := Parse(c.text, c.d)
			if err != nil {
				t.Fatalf("Parse(%q, %v) = error %v", c.text, c.d, err)
			}
			if !near(q.Value, c.value, ulps) || !near(q.U, c.u, ulps) || q.Stated != c.stated || q.Unit != c.unit {
				t.Errorf("Parse(%q, %v) = %+v, want value %v, u %v, stated %v, unit %q",
					c.text, c.d, q, c.value, c.u, c.stated, c.unit)
			}
		})
	}
}

func TestParseRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text string
		d    Dimension
		says string // part of the message
		hint string // part of the hint
	}{
		{"", Length, "is empty", "m, mm"},
		{"5.2", Pressure, "has no unit", "bar, psi"},
		{"8.15(5)", Length, "has no unit", "ft"},
		{"5.2 s", Pressure, `"s" measures a time, where a pressure is needed`, "bar"},
		{"5 g", Pressure, "measures a mass or an acceleration", "bar"},
		{"5 furlong", Length, `unknown unit "furlong"`, "m, mm"},
		{"60 MPH", Speed, `did you mean "mph"`, "km/h"},
		{"5,2 bar", Pressure, "decimal point", "bar"},
		{"50 000 m", Length, "digits stand together", "m"},
		{"1.2.3 m", Length, "stops at", "m"},
		{"NaN m", Length, "does not start with a number", "m"},
		{"Inf m", Length, "does not start with a number", "m"},
		{"0x10 m", Length, "unknown unit", "m"},
		{"1e999 m", Length, "too large", "m"},
		{"1e308 km", Length, "too large", "m"},
		{"1e-999 m", Length, "too small", "m"},
		{"1/0 s", Time, "divides by zero", "s"},
		{"1(1)/8000 s", Time, "inside a fraction", "s"},
		{"8.15(5 m", Length, "does not close", "m"},
		{"8.15(-5) m", Length, "brackets", "m"},
		{"8.15() m", Length, "brackets", "m"},
		{"8.15(5) m ± 0.1 m", Length, "twice", "m"},
		{"8.15 m ± -0.1 m", Length, "positive number after ±", "m"},
		{"8.15 m ± 0.10", Length, "has no unit", "m"},
		{"8.15 m ±", Length, "does not start with a number", "m"},
		{"8.15 m ± 0.1 s", Length, "measures a time", "m"},
		{"0 m ± 1 %", Length, "percentage of zero", "m"},
		{"18 degC ± 1 %", Temperature, "absolute zero", "degC"},
		{"-300 degC", Temperature, "below absolute zero", "degC"},
		{"0.5 m", Ratio, "measures a length, where a plain number is needed", "0.50(5)"},
		{strings.Repeat("9", 500) + " m", Length, "too long", "m"},
	} {
		t.Run(c.text, func(t *testing.T) {
			t.Parallel()
			q, err := Parse(c.text, c.d)
			var f *fault.Error
			if !errors.As(err, &f) {
				t.Fatalf("Parse(%q, %v) = %+v, %v, want a fault", c.text, c.d, q, err)
			}
			if f.Kind != fault.Request || !strings.Contains(f.Message, c.says) || !strings.Contains(f.Hint, c.hint) {
				t.Errorf("Parse(%q, %v) = %q, hint %q; want %q, hint %q", c.text, c.d, f.Message, f.Hint, c.says, c.hint)
			}
			if strings.ContainsAny(f.Message+f.Hint, "\n\r") {
				t.Errorf("Parse(%q, %v) = %q, hint %q: more than one line", c.text, c.d, f.Message, f.Hint)
			}
		})
	}
}

// TestFactors checks conversions that are exact by definition: NIST SP 811 (2008),
// appendix B.8, and the international yard and pound agreement it rests on.
func TestFactors(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text string
		d    Dimension
		want float64
	}{
		{"1 mph", Speed, 0.44704},
		{"100 mph", Speed, 44.704},
		{"1 ft", Length, 0.3048},
		{"1 in", Length, 0.0254},
		{"36 km/h", Speed, 10},
		{"1 kn", Speed, 1852.0 / 3600},
		{"1 g", Acceleration, 9.80665},
		{"1 lbf", Force, 4.4482216152605},
		{"1 lb", Mass, 0.45359237},
		{"1 oz", Mass, 0.028349523125},
		{"1 atm", Pressure, 101325},
		{"1 bar", Pressure, 1e5},
		{"1 gal", Volume, 3.785411784e-3},
		{"1 L", Volume, 1e-3},
		{"32 degF", Temperature, 273.15},
		{"0 degC", Temperature, 273.15},
		{"180 deg", Angle, math.Pi},
		{"1 ft/s", Speed, 0.3048},
		{"1 ms", Time, 0.001},
	} {
		q, err := Parse(c.text, c.d)
		if err != nil || !near(q.Value, c.want, ulps) {
			t.Errorf("Parse(%q) = %v, %v, want %v", c.text, q.Value, err, c.want)
		}
	}
	// Printed with ten digits in the same table; exact value lbf/in2.
	const printed = 1e-12
	if q, err := Parse("1 psi", Pressure); err != nil || !near(q.Value, 6894.757293168, printed) {
		t.Errorf("Parse(1 psi) = %v, %v, want 6894.757293168", q.Value, err)
	}
}

func TestUnitInverts(t *testing.T) {
	t.Parallel()
	for d := Length; d < dimensionEnd; d++ {
		if len(Fitting(d)) == 0 || SI(d).Num != 1 {
			t.Errorf("%v has no units", d)
		}
		for _, u := range Fitting(d) {
			if found, ok := Lookup(u.Symbol, d); !ok || found != u {
				t.Errorf("Lookup(%q, %v) = %+v, %v, want %+v", u.Symbol, d, found, ok, u)
			}
			const v = 12.75
			// The offset of a temperature costs digits: 460 against 12.75.
			if got := u.FromSI(u.ToSI(v)); !near(got, v, 1e-14) {
				t.Errorf("%s: FromSI(ToSI(%v)) = %v", u.Symbol, v, got)
			}
			if got := u.DeltaFromSI(u.DeltaToSI(v)); !near(got, v, ulps) {
				t.Errorf("%s: DeltaFromSI(DeltaToSI(%v)) = %v", u.Symbol, v, got)
			}
		}
	}
}

// TestNoSymbolTwice keeps the table unambiguous within a dimension.
func TestNoSymbolTwice(t *testing.T) {
	t.Parallel()
	for d := Length; d < dimensionEnd; d++ {
		seen := map[string]string{}
		for _, e := range table() {
			if e.unit.Dimension != d {
				continue
			}
			for _, s := range append(strings.Fields(e.aliases), e.unit.Symbol) {
				if fold(s) != s && s != "" {
					t.Errorf("%v: %q is not in folded spelling", d, s)
				}
				if other, ok := seen[s]; ok {
					t.Errorf("%v: %q stands for %s and %s", d, s, other, e.unit.Symbol)
				}
				seen[s] = e.unit.Symbol
			}
		}
	}
}
