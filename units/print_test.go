package units

import (
	"errors"
	"math"
	"strings"
	"testing"

	"padside/fault"

	"pgregory.net/rapid"
)

func TestPrint(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		q    Quantity
		d    Dimension
		want string
	}{
		{Quantity{Value: 350e-6, Unit: "mL"}, Volume, "350 mL"},
		{Quantity{Value: 8.15, U: 0.05, Unit: "m"}, Length, "8.15(0.05) m"},
		{Quantity{Value: 8.15, U: 2, Unit: "m"}, Length, "8.15(2.0) m"},
		{Quantity{Value: 8.15, Stated: true, Unit: "m"}, Length, "8.15(0.0) m"},
		{Quantity{Value: 291.15, U: 2, Unit: "degC"}, Temperature, "18(2.0) degC"},
		{Quantity{Value: 0.5, U: 0.05}, Ratio, "0.5(0.05)"},
		{Quantity{Value: 26.8224, Unit: "mph"}, Speed, "60 mph"},
		{Quantity{Value: 12.5e-6}, Time, "0.0000125 s"},
		{Quantity{Value: 1.25e-9, U: 3e-11}, Time, "1.25e-09 s"},
	} {
		got, err := Print(c.q, c.d)
		if strings.Contains(c.want, "e-") { // the uncertainty's digits are not the point here
			got = got[:strings.Index(got, "(")] + got[strings.Index(got, ")")+1:]
		}
		if err != nil || got != c.want {
			t.Errorf("Print(%+v) = %q, %v, want %q", c.q, got, err, c.want)
		}
	}
	for _, q := range []Quantity{{Value: math.NaN()}, {Value: 1, U: math.Inf(1)}, {Value: 1, U: -1}, {Value: 1, Unit: "s"}} {
		if got, err := Print(q, Length); err == nil {
			t.Errorf("Print(%+v) = %q, want an error", q, got)
		}
	}
}

// roundTrip is two units in the last place, plus what an offset costs.
const roundTrip = 5e-16

func TestPrintThenParse(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := Dimension(rapid.IntRange(int(Length), int(dimensionEnd)-1).Draw(t, "dimension"))
		unit := rapid.SampledFrom(Fitting(d)).Draw(t, "unit")
		q := Quantity{Value: rapid.Float64Range(-1e12, 1e12).Draw(t, "value"), Unit: unit.Symbol}
		if d == Temperature {
			q.Value = math.Abs(q.Value)
		}
		if rapid.Bool().Draw(t, "stated") {
			q.Stated, q.U = true, rapid.Float64Range(0, 1e9).Draw(t, "u")
		}
		if q.Unit == "" {
			q.Unit = SI(d).Symbol
		}
		if tiny(unit.FromSI(q.Value)) || tiny(unit.DeltaFromSI(q.U)) {
			t.Skip("subnormal: fewer digits than the promise needs")
		}
		text, err := Print(q, d)
		if err != nil {
			t.Fatalf("Print(%+v) = %v", q, err)
		}
		back, err := Parse(text, d)
		if err != nil {
			t.Fatalf("Parse(%q) = %v", text, err)
		}
		slack := roundTrip*math.Abs(q.Value) + 2e-16*unit.DeltaToSI(math.Abs(unit.Offset))
		if math.Abs(back.Value-q.Value) > slack || !near(back.U, q.U, 2*roundTrip) || back.Stated != q.Stated || back.Unit != q.Unit {
			t.Errorf("Parse(Print(%+v) = %q) = %+v", q, text, back)
		}
	})
}

func tiny(v float64) bool { return v != 0 && math.Abs(v) < 1e-290 }

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"350 mL", "1/8000 s", "8.15(5) m", "8.15(0.05) m", "1.25(3)e-3 s", "8.15 m ± 0.10 m", "8.15 m +- 1 %",
		"(8.15 +/- 0.10) m", "0.50(5)", "2 %", "1e999 m", "", "(", "((1±1)", "1/1/1 s", "−1 °C", "5 N·s", "±", "1(1)e", "1e5(3) m",
	} {
		f.Add(s, int(Length))
		f.Add(s, int(Ratio))
		f.Add(s, int(Temperature))
	}
	f.Fuzz(func(t *testing.T, s string, d int) {
		q, err := Parse(s, Dimension(d))
		if err != nil {
			var e *fault.Error
			if !errors.As(err, &e) || strings.ContainsAny(e.Message, "\n\r") {
				t.Fatalf("Parse(%q, %d) = %v, want a one-line fault", s, d, err)
			}
			return
		}
		for _, v := range []float64{q.Value, q.U} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("Parse(%q, %d) = %+v", s, d, q)
			}
		}
		if q.U < 0 || q.U > 0 && !q.Stated {
			t.Fatalf("Parse(%q, %d) = %+v: uncertainty not as stated", s, d, q)
		}
		if _, err := Print(q, Dimension(d)); err != nil {
			t.Fatalf("Print(Parse(%q, %d)) = %v", s, d, err)
		}
	})
}
