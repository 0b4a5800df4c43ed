package logbook

import (
	"math"
	"math/big"
	"strings"

	"padside/units"
)

func (r *reader) time(t *table, m *Time) {
	r.known(t, "[footage.time]", "basis", "rate", "exposure", "row_time", "times")
	m.Basis = r.text(t, "basis")
	if v := t.get("basis"); v != nil && !contains([]string{"container", "rate", "exif", "list"}, m.Basis) {
		r.fail(v.line, `basis is "container", "rate", "exif" or "list"`, "there is no time basis %q", m.Basis)
	}
	var given bool
	if m.Rate, given = r.positive(t, "rate", units.Frequency); given {
		m.RateExact = exactRate(t.get("rate").text, m.Rate)
	}
	if q, ok := r.quantity(t, "exposure", units.Time); ok {
		m.Exposure, m.ExposureGiven = q.Value, true
		if q.Value < 0 {
			r.fail(t.get("exposure").line, `for example exposure = "1/8000 s"`, "exposure is negative")
		}
	}
	if q, ok := r.quantity(t, "row_time", units.Time); ok {
		m.RowTime = q.Value
	}
	for i, v := range r.list(t, "times", "times = [0.0, 0.125, 0.25], in seconds") {
		x, _ := r.finite(v, "times")
		if i > 0 && x <= m.Times[i-1] {
			r.fail(v.line, "list one time per frame, in seconds, rising", "time %d of the list, %g, does not come after %g", i+1, x, m.Times[i-1])
		}
		m.Times = append(m.Times, x)
	}
	r.timeTogether(t, m, given)
}

// timeTogether refuses a basis without what it needs, and a rate or list without its basis:
// which of the two holds would be a guess.
func (r *reader) timeTogether(t *table, m *Time, rate bool) {
	switch {
	case m.Basis == "rate" && !rate:
		r.fail(t.get("basis").line, `add rate = "1600 Hz", the true capture rate`, `basis "rate" has no rate`)
	case m.Basis == "list" && len(m.Times) < 2:
		r.fail(t.get("basis").line, "add times = [0.0, 0.125, 0.25], one per frame, in seconds", `basis "list" has no two times`)
	case rate && m.Basis != "rate":
		r.fail(t.get("rate").line, `add basis = "rate", or leave the rate out`, `a rate is given, but the basis is not "rate"`)
	case len(m.Times) > 0 && m.Basis != "list":
		r.fail(t.get("times").line, `add basis = "list", or leave the times out`, `times are given, but the basis is not "list"`)
	}
}

// exactRate is the rate as the exact number written ("30000/1001 fps"), in Hz; where the
// text holds more than that, the float64 it was read as.
func exactRate(text string, q units.Quantity) *big.Rat {
	float := new(big.Rat)
	if float.SetFloat64(q.Value) == nil {
		return nil
	}
	end := strings.IndexFunc(text, func(c rune) bool { return !strings.ContainsRune("0123456789./ ", c) })
	if end < 0 || len(text) > 100 {
		return float
	}
	exact := big.NewRat(1, 1)
	for i, part := range strings.Split(text[:end], "/") {
		x, ok := new(big.Rat).SetString(strings.TrimSpace(part))
		if !ok || x.Sign() == 0 || i > 1 {
			return float
		}
		if i == 1 {
			x.Inv(x)
		}
		exact.Mul(exact, x)
	}
	unit, found := units.Lookup(q.Unit, units.Frequency)
	num, den := new(big.Rat).SetFloat64(unit.Num), new(big.Rat).SetFloat64(unit.Den)
	if !found || num == nil || den == nil || den.Sign() == 0 {
		return float
	}
	exact.Mul(exact, num).Quo(exact, den)
	const reading = 1e-14 // both are the same number but for rounding
	if v, _ := exact.Float64(); math.Abs(v/q.Value-1) > reading {
		return float
	}
	return exact
}
