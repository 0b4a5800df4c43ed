package logbook

import (
	"math"
	"math/big"
	"strings"

	"padside/units"
)

func (r *reader) time(t *table, m *Time) {
	r.known(t, "[footage.time]", "basis", "rate", "stretches", "exposure", "shutter", "row_time", "times")
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
	r.shutter(t, m)
	r.times(t, m)
	r.stretches(t, m)
	r.timeTogether(t, m, given)
}

// rowTimeU is the relative standard uncertainty of a row time stated without one: as well as it is
// known from a data sheet or a flashing lamp (common practice, no source).
const rowTimeU = 0.04

func (r *reader) shutter(t *table, m *Time) {
	m.Shutter = r.text(t, "shutter")
	v := t.get("shutter")
	if v != nil && m.Shutter != "global" && m.Shutter != "rolling" {
		r.fail(v.line, `shutter is "global" or "rolling"; leave it out if you do not know`, "there is no shutter %q", m.Shutter)
	}
	if m.RowTime, m.RowTimeGiven = r.quantity(t, "row_time", units.Time); !m.RowTimeGiven {
		return
	}
	q := &m.RowTime
	switch {
	case q.Value != 0 && m.Shutter == "global":
		r.fail(t.get("row_time").line, `leave row_time out, or write shutter = "rolling"`, "a global shutter has no row_time: all rows are exposed at the same time")
	case q.Value == 0 && q.U == 0 && m.Shutter == "rolling":
		r.fail(t.get("row_time").line, `write shutter = "global", or leave row_time out if you do not know it`, "a rolling shutter takes time from row to row, and row_time is 0")
	case q.Value == 0 && q.U == 0:
		m.Shutter = "global"
	case m.Shutter == "":
		m.Shutter = "rolling"
	}
	if !q.Stated {
		q.U = rowTimeU * math.Abs(q.Value)
	}
}

// times reads the list of times: bare numbers are seconds, texts carry a unit and perhaps an
// uncertainty.
func (r *reader) times(t *table, m *Time) {
	stated := false
	for i, v := range r.list(t, "times", `times = [0.0, 0.125, "0.250(4) s"], in seconds`) {
		var x, u float64
		if v.kind == isText {
			q, _ := r.measure(v, "times", units.Time)
			x, u, stated = q.Value, q.U, stated || q.Stated
		} else {
			x, _ = r.finite(v, "times")
		}
		if i > 0 && x <= m.Times[i-1] {
			r.fail(v.line, "list one time per frame, in seconds, rising", "time %d of the list, %g, does not come after %g", i+1, x, m.Times[i-1])
		}
		m.Times, m.TimesU = append(m.Times, x), append(m.TimesU, u)
	}
	if !stated {
		m.TimesU = nil
	}
}

func (r *reader) stretches(t *table, m *Time) {
	const example = `stretches = [ { from = 0, rate = "30 Hz" }, { from = 96, rate = "240 Hz" } ]`
	for i, s := range r.tables(t, "stretches", example) {
		r.known(s, "a stretch of [footage.time]", "from", "rate")
		x := Stretch{From: r.whole(s, "from", -1)}
		var ok bool
		if x.Rate, ok = r.positive(s, "rate", units.Frequency); ok {
			x.RateExact = exactRate(s.get("rate").text, x.Rate)
		}
		switch {
		case !ok:
			r.fail(s.line, "write "+example, "a stretch of [footage.time] has no rate")
		case i == 0 && x.From != 0:
			r.fail(s.line, "the first stretch begins with frame 0", "the first stretch of [footage.time] is from frame %d", x.From)
		case i > 0 && x.From <= m.Stretches[i-1].From:
			r.fail(s.line, "order the stretches by their first frame", "stretch %d of [footage.time] begins with frame %d, not after %d", i+1, x.From, m.Stretches[i-1].From)
		}
		m.Stretches = append(m.Stretches, x)
	}
}

// timeTogether refuses a basis without what it needs, and a rate or list without its basis:
// which of the two holds would be a guess.
func (r *reader) timeTogether(t *table, m *Time, rate bool) {
	switch {
	case len(m.Stretches) > 0 && (rate || m.Basis != "rate"):
		r.fail(t.get("stretches").line, `write basis = "rate" with either one rate or stretches`, "stretches of different rates belong to basis \"rate\", in place of rate")
	case m.Basis == "rate" && !rate && len(m.Stretches) == 0:
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
