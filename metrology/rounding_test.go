package metrology

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func TestBrackets(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		value, u float64
		unit     string
		digits   int
		want     string
	}{
		{8.15, 0.05, "m", 2, "8.150(50) m"},
		{8.15, 0.05, "m", 1, "8.15(5) m"},
		// GUM 7.2.2: m_S = 100.02147(35) g.
		{100.02147, 0.00035, "g", 2, "100.02147(35) g"},
		// GUM 7.2.6: 10.057 62 ohm with u = 27 milliohm is 10.058 ohm; 28.05 kHz with 92 kHz is 28.05.
		{10.05762, 0.027, "ohm", 2, "10.058(27) ohm"},
		{28.05, 0.092, "kHz", 2, "28.050(92) kHz"},
		{1862.4, 243, "Pa", 2, "1860(240) Pa"},
		{9.996, 0.0996, "s", 2, "10.00(10) s"},
		{-0.0001, 0.05, "", 2, "0.000(50)"},
		{5, 0, "m", 2, "5 m"},
		{1e6, 15e3, "", 2, "1000000(15000)"},
		{12.34, 1.2, "m", 2, "12.3(12) m"},
	} {
		if got := Brackets(c.value, c.u, c.unit, c.digits); got != c.want {
			t.Errorf("Brackets(%v, %v, %q, %d) = %q, want %q", c.value, c.u, c.unit, c.digits, got, c.want)
		}
	}
}

func TestPlusMinusAndEnds(t *testing.T) {
	t.Parallel()
	if got, want := PlusMinus(51.7963, 0.394, "ms", 2), "51.80 ms ± 0.39 ms"; got != want {
		t.Errorf("PlusMinus = %q, want %q", got, want)
	}
	if got, want := PlusMinus(51.7963, 0.394, "ms", 1), "51.8 ms ± 0.4 ms"; got != want {
		t.Errorf("PlusMinus = %q, want %q", got, want)
	}
	for _, c := range []struct {
		iv             Interval
		u              float64
		wantLo, wantHi string
	}{
		{Interval{51.4012, 52.1901}, 0.2, "51.40", "52.20"},
		{Interval{-0.123, 0.001}, 0.03, "-0.123", "0.001"},
		{Interval{-0.1231, 0.0011}, 0.03, "-0.124", "0.002"},
		{Interval{1234, 1891}, 160, "1230", "1900"},
		{Interval{0.3, 0.7}, 0.1, "0.30", "0.70"}, // 0.3 and 0.7 are not binary fractions
	} {
		lo, hi := Ends(c.iv, c.u, 2)
		if lo != c.wantLo || hi != c.wantHi {
			t.Errorf("Ends(%v, %v) = %s, %s, want %s, %s", c.iv, c.u, lo, hi, c.wantLo, c.wantHi)
		}
	}
}

// TestRoundedEndsHoldTheInterval: printing never loses a part of the interval.
func TestRoundedEndsHoldTheInterval(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
		u := rapid.Float64Range(1e-6, 1e4).Draw(t, "u")
		iv := Interval{v - 2*u, v + 1.8*u}
		lo, hi := Ends(iv, u, Digits)
		l, errL := strconv.ParseFloat(lo, 64)
		h, errH := strconv.ParseFloat(hi, 64)
		if errL != nil || errH != nil {
			t.Fatalf("Ends(%v, %v) = %q, %q: no numbers", iv, u, lo, hi)
		}
		place, _ := Place(u, Digits)
		step := math.Pow10(place)
		slack := 1e-6*step + 1e-15*math.Abs(v)
		if l > iv.Lo+slack || h < iv.Hi-slack || l < iv.Lo-step-slack || h > iv.Hi+step+slack {
			t.Errorf("Ends(%v, %v) = %s, %s", iv, u, lo, hi)
		}
	})
}

func TestPlace(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		u      float64
		digits int
		want   int
	}{{0.0349, 2, -3}, {0.0996, 2, -2}, {0.0994, 2, -3}, {35, 2, 0}, {350, 2, 1}, {1, 1, 0}, {0.95, 1, -1}, {0.96, 1, 0}} {
		if got, ok := Place(c.u, c.digits); !ok || got != c.want {
			t.Errorf("Place(%v, %d) = %d, %v, want %d", c.u, c.digits, got, ok, c.want)
		}
	}
	for _, u := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if got, ok := Place(u, 2); ok {
			t.Errorf("Place(%v, 2) = %d, true, want false", u, got)
		}
	}
}
