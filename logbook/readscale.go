package logbook

import "padside/units"

func (r *reader) scale(t *table, s *Scale) {
	r.known(t, "[scale]", "kind", "marks", "mark_uncertainty", "rod_range", "flight_range", "lean", "on_flight_line", "length", "ends", "points")
	s.Kind = r.text(t, "kind")
	if !contains([]string{"rod", "length", "plane"}, s.Kind) {
		line := t.line
		if v := t.get("kind"); v != nil {
			line = v.line
		}
		if s.Kind == "" {
			r.fail(line, `write kind = "rod", "length" or "plane"`, "[scale] states no kind")
		}
		r.fail(line, `write kind = "rod", "length" or "plane"`, "there is no scale of kind %q", s.Kind)
	}
	s.MarkU = r.pixels(t, "mark_uncertainty")
	s.OnLine = r.boolean(t, "on_flight_line", false)
	s.RodRange, s.RodRangeGiven = r.positive(t, "rod_range", units.Length)
	s.FlightRange, s.FlightRangeGiven = r.positive(t, "flight_range", units.Length)
	s.Lean, s.LeanGiven = r.lean(t)
	r.belongs(t, s.Kind)
	switch s.Kind {
	case "rod":
		r.rod(t, s)
	case "length":
		r.length(t, s)
	case "plane":
		r.plane(t, s)
	}
}

// pixels reads a standard uncertainty in pixels, which may be zero; nil where it is not stated.
func (r *reader) pixels(t *table, key string) *float64 {
	q, ok := r.quantity(t, key, units.Pixels)
	if !ok {
		return nil
	}
	if q.Value < 0 {
		r.fail(t.get(key).line, "write a standard uncertainty, zero or more: "+key+` = "0.5 px"`, "%s is below zero", key)
		return nil
	}
	return &q.Value
}

// lean is 0(2) degrees where the file does not say.
func (r *reader) lean(t *table) (units.Quantity, bool) {
	if q, ok := r.quantity(t, "lean", units.Angle); ok {
		return q, true
	}
	q, _ := units.Parse("0(2) deg", units.Angle)
	return q, false
}

// belongs refuses keys of another kind of scale: which of the two is meant would be a guess.
func (r *reader) belongs(t *table, kind string) {
	for _, k := range [][2]string{{"marks", "rod"}, {"on_flight_line", "rod"}, {"points", "plane"}, {"length", "length"}, {"ends", "length"}} {
		key, of := k[0], k[1]
		if v := t.get(key); v != nil && of != kind {
			r.fail(v.line, `a scale has one kind: write kind = "`+of+`", or leave `+key+" out", "%s belongs to kind %q, not %q", key, of, kind)
		}
	}
}

func (r *reader) rod(t *table, s *Scale) {
	const example = `marks = [ { at = "0 m", x = 512.0, y = 1012.0 }, { at = "0.4 m", x = 511.2, y = 870.5 } ]`
	for _, m := range r.tables(t, "marks", example) {
		r.known(m, "a mark of [scale]", "at", "x", "y", "u", "width")
		at, ok := r.quantity(m, "at", units.Length)
		if !ok {
			r.fail(m.line, "write "+example, "a mark of [scale] has no height (at)")
		}
		k := RodMark{At: at, U: r.pixels(m, "u")}
		if w, ok := r.positive(m, "width", units.Pixels); ok {
			k.Width = &w
		}
		k.X, k.Y = r.place(m, "a mark of [scale]")
		s.Marks = append(s.Marks, k)
	}
	if len(s.Marks) < 2 {
		r.fail(t.line, "write "+example, `kind "rod" needs two marks or more, there are %d`, len(s.Marks))
	}
}

func (r *reader) length(t *table, s *Scale) {
	const example = `length = "1.20(1) m" and ends = [ { x = 500.0, y = 900.0 }, { x = 500.0, y = 600.0 } ]`
	if s.Length, s.LengthGiven = r.positive(t, "length", units.Length); !s.LengthGiven {
		r.fail(t.line, "write "+example, `kind "length" has no length`)
	}
	for _, e := range r.tables(t, "ends", example) {
		r.known(e, "an end of [scale]", "x", "y")
		x, y := r.place(e, "an end of [scale]")
		s.Ends = append(s.Ends, [2]float64{x, y})
	}
	if len(s.Ends) != 2 {
		r.fail(t.line, "write "+example, `kind "length" needs two ends, there are %d`, len(s.Ends))
	}
}

func (r *reader) plane(t *table, s *Scale) {
	const example = `points = [ { at = ["0 m", "0 m"], x = 100.0, y = 900.0 }, ... ]`
	for _, p := range r.tables(t, "points", example) {
		r.known(p, "a point of [scale]", "at", "x", "y", "u")
		at := r.list(p, "at", `at = ["0 m", "0 m"]`)
		if len(at) != 2 {
			r.fail(p.line, `write at = ["0 m", "0 m"]`, "a point of [scale] has no two coordinates (at)")
			return
		}
		var k PlanePoint
		x, _ := r.measure(at[0], "at", units.Length)
		y, _ := r.measure(at[1], "at", units.Length)
		k.AtX, k.AtY = x.Value, y.Value
		k.X, k.Y = r.place(p, "a point of [scale]")
		k.U = r.pixels(p, "u")
		s.Points = append(s.Points, k)
	}
	if len(s.Points) < 4 {
		r.fail(t.line, "write "+example, `kind "plane" needs four points or more, there are %d`, len(s.Points))
	}
}
