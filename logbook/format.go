package logbook

import (
	"bytes"
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"

	"padside/units"
)

// FormatLaunch writes a launch as the text of a launch file that ParseLaunch reads back to
// the same launch, numbers to within two units in the last place. It writes Footage.Given,
// not the resolved path. What cannot be written (a unit of the wrong dimension, a number
// that is not finite) is an error.
func FormatLaunch(l *Launch) ([]byte, error) {
	w := &writer{}
	w.line("format = %d", Format)
	w.textUnlessEmpty("title", l.Title)
	w.textUnlessEmpty("vehicle", l.Vehicle)
	w.textUnlessEmpty("kind", l.Kind)
	w.textUnlessEmpty("date", l.Date)
	w.textUnlessEmpty("setup", l.Setup)
	w.conditions(l.Conditions)
	w.footage(&l.Footage, &l.Time)
	w.scale(&l.Scale)
	w.camera(&l.Camera)
	w.trace(&l.Trace)
	w.questions(&l.Questions)
	return w.b.Bytes(), w.err
}

// writer collects lines and keeps the first error.
type writer struct {
	b   bytes.Buffer
	err error
}

func (w *writer) line(format string, args ...any) { fmt.Fprintf(&w.b, format+"\n", args...) }

func (w *writer) section(name string) { w.line("\n[%s]", name) }

// quote writes a TOML basic string.
func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// bareKey says whether a key needs no quotes.
func bareKey(s string) bool {
	return s != "" && strings.Trim(s, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-") == ""
}

func (w *writer) textUnlessEmpty(key, s string) {
	if s != "" {
		w.line("%s = %s", key, quote(s))
	}
}

// number writes a finite number as a TOML float.
func (w *writer) number(x float64) string {
	if (math.IsNaN(x) || math.IsInf(x, 0)) && w.err == nil {
		w.err = fmt.Errorf("write launch file: %g is no finite number", x)
	}
	s := strconv.FormatFloat(x, 'f', -1, 64)
	if !strings.Contains(s, ".") {
		s += ".0"
	}
	return s
}

// quantity writes q in its own unit, in quotes.
func (w *writer) quantity(q units.Quantity, d units.Dimension) string {
	s, err := units.Print(q, d)
	if err != nil && w.err == nil {
		w.err = fmt.Errorf("write launch file: %w", err)
	}
	return quote(s)
}

// plain writes an SI value without uncertainty.
func (w *writer) plain(v float64, d units.Dimension) string {
	return w.quantity(units.Quantity{Value: v}, d)
}

func (w *writer) conditions(list []Condition) {
	if len(list) == 0 {
		return
	}
	w.section("conditions")
	for _, c := range list {
		key, text := c.Key, quote(c.Text)
		if !bareKey(key) {
			key = quote(key)
		}
		if c.Dimension != 0 && c.Text == "" {
			text = w.quantity(c.Quantity, c.Dimension)
		}
		w.line("%s = %s", key, text)
	}
}

func (w *writer) footage(f *Footage, t *Time) {
	w.section("footage")
	w.line("path = %s", quote(f.Given))
	if f.Rotate != 0 {
		w.line("rotate = %d", f.Rotate)
	}
	if f.From != 0 {
		w.line("from = %d", f.From)
	}
	if f.To >= 0 && (f.To > 0 || f.From > 0) {
		w.line("to = %d", f.To)
	}
	if t.Basis == "" && !t.ExposureGiven && t.RowTime == 0 {
		return
	}
	w.section("footage.time")
	w.textUnlessEmpty("basis", t.Basis)
	if t.Rate.Value != 0 || t.RateExact != nil {
		w.line("rate = %s", w.rate(t))
	}
	if t.ExposureGiven {
		w.line("exposure = %s", w.plain(t.Exposure, units.Time))
	}
	if t.RowTime != 0 {
		w.line("row_time = %s", w.plain(t.RowTime, units.Time))
	}
	if len(t.Times) > 0 {
		w.line("times = [%s]", w.join(t.Times))
	}
}

// rate writes the exact fraction where the rate is one and carries no uncertainty.
func (w *writer) rate(t *Time) string {
	if t.RateExact != nil && !t.RateExact.IsInt() && !t.Rate.Stated && t.RateExact.Denom().Cmp(big.NewInt(1e6)) < 0 {
		unit, ok := units.Lookup(t.Rate.Unit, units.Frequency)
		if !ok || unit.Num != unit.Den {
			return quote(t.RateExact.RatString() + " Hz")
		}
		return quote(t.RateExact.RatString() + " " + t.Rate.Unit)
	}
	q := t.Rate
	if q.Value == 0 {
		q.Value, _ = t.RateExact.Float64()
	}
	return w.quantity(q, units.Frequency)
}

func (w *writer) join(list []float64) string {
	out := make([]string, len(list))
	for i, x := range list {
		out[i] = w.number(x)
	}
	return strings.Join(out, ", ")
}

func (w *writer) scale(s *Scale) {
	w.section("scale")
	w.line("kind = %s", quote(s.Kind))
	if s.Kind == "length" {
		w.line("length = %s", w.quantity(s.Length, units.Length))
		w.line("ends = [")
		for _, e := range s.Ends {
			w.line("  { x = %s, y = %s },", w.number(e[0]), w.number(e[1]))
		}
		w.line("]")
	}
	if s.Kind == "rod" {
		w.line("marks = [")
		for _, m := range s.Marks {
			more := w.pixels("u", m.U)
			if m.Width != nil {
				more += ", width = " + w.quantity(*m.Width, units.Pixels)
			}
			w.line("  { at = %s, x = %s, y = %s%s },", w.quantity(m.At, units.Length), w.number(m.X), w.number(m.Y), more)
		}
		w.line("]")
	}
	if s.Kind == "plane" {
		w.line("points = [")
		for _, p := range s.Points {
			w.line("  { at = [%s, %s], x = %s, y = %s%s },", w.plain(p.AtX, units.Length), w.plain(p.AtY, units.Length), w.number(p.X), w.number(p.Y), w.pixels("u", p.U))
		}
		w.line("]")
	}
	if s.MarkU != nil {
		w.line("mark_uncertainty = %s", w.plain(*s.MarkU, units.Pixels))
	}
	if s.OnLine {
		w.line("on_flight_line = true")
	}
	for _, c := range []struct {
		key   string
		q     units.Quantity
		given bool
		d     units.Dimension
	}{
		{"rod_range", s.RodRange, s.RodRangeGiven, units.Length},
		{"flight_range", s.FlightRange, s.FlightRangeGiven, units.Length},
		{"lean", s.Lean, s.LeanGiven, units.Angle},
	} {
		if c.given {
			w.line("%s = %s", c.key, w.quantity(c.q, c.d))
		}
	}
}

// pixels writes a further key of an inline table, nothing where it is not stated.
func (w *writer) pixels(key string, u *float64) string {
	if u == nil {
		return ""
	}
	return ", " + key + " = " + w.plain(*u, units.Pixels)
}

func (w *writer) camera(c *Camera) {
	if c.FocalLength.Value == 0 && c.PixelPitch.Value == 0 && !c.TiltGiven && c.K1 == 0 && c.K2 == 0 {
		return
	}
	w.section("camera")
	if c.FocalLength.Value > 0 {
		w.line("focal_length = %s", w.quantity(c.FocalLength, units.Length))
	}
	if c.PixelPitch.Value > 0 {
		w.line("pixel_pitch = %s", w.quantity(c.PixelPitch, units.Length))
	}
	if c.TiltGiven {
		w.line("tilt = %s", w.quantity(c.Tilt, units.Angle))
	}
	if c.K1 != 0 {
		w.line("k1 = %s", w.number(c.K1))
	}
	if c.K2 != 0 {
		w.line("k2 = %s", w.number(c.K2))
	}
}

func (w *writer) trace(t *Trace) {
	if t.Frame == 0 && t.Box == nil && len(t.Steady) == 0 && t.Lanes <= 1 && len(t.Marks) == 0 {
		return
	}
	w.section("trace")
	if t.Frame != 0 {
		w.line("frame = %d", t.Frame)
	}
	if t.Box != nil {
		w.line("box = [%s]", w.join(t.Box[:]))
	}
	if len(t.Steady) > 0 {
		boxes := make([]string, len(t.Steady))
		for i, b := range t.Steady {
			boxes[i] = "[" + w.join(b[:]) + "]"
		}
		w.line("steady = [%s]", strings.Join(boxes, ", "))
	}
	if t.Lanes > 1 {
		w.line("lanes = %d", t.Lanes)
	}
	if !t.Follow && len(t.Marks) > 0 {
		w.line("follow = false")
	}
	if len(t.Marks) > 0 {
		w.line("marks = [")
		for _, m := range t.Marks {
			w.line("  { frame = %d, lane = %d, x = %s, y = %s },", m.Frame, max(1, m.Lane), w.number(m.X), w.number(m.Y))
		}
		w.line("]")
	}
}

func (w *writer) questions(q *Questions) {
	if len(q.Speeds) == 0 && len(q.Gates) == 0 && !q.DropCheck {
		return
	}
	w.section("questions")
	list := func(key string, texts []string) {
		if len(texts) > 0 {
			w.line("%s = [%s]", key, strings.Join(texts, ", "))
		}
	}
	var speeds, gates []string
	for _, s := range q.Speeds {
		speeds = append(speeds, w.quantity(s, units.Speed))
	}
	for _, g := range q.Gates {
		gates = append(gates, w.quantity(units.Quantity{Value: g, Unit: q.GateUnit}, units.Length))
	}
	list("speeds", speeds)
	list("gates", gates)
	if q.DropCheck {
		w.line("drop_check = true")
	}
}
