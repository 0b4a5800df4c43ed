package logbook

import (
	"math"
	"sort"

	"padside/units"
)

func (r *reader) trace(t *table, c *Trace) {
	r.known(t, "[trace]", "frame", "box", "steady", "lanes", "follow", "fixed_camera", "marks")
	c.Frame = r.whole(t, "frame", 0)
	if c.Frame < 0 {
		r.fail(t.get("frame").line, "frames count from 0", "frame = %d is negative", c.Frame)
	}
	if v := t.get("box"); v != nil {
		c.Box = r.box(v, "box")
	}
	if v := t.get("steady"); v != nil {
		boxes := []*value{v}
		if v.kind == isList && len(v.list) > 0 && v.list[0].kind == isList {
			boxes = v.list
			if r.tooLong(v, "steady") {
				boxes = nil
			}
		}
		for _, b := range boxes {
			if x := r.box(b, "steady"); x != nil {
				c.Steady = append(c.Steady, *x)
			}
		}
	}
	c.Lanes, c.Follow = r.whole(t, "lanes", 1), r.boolean(t, "follow", true)
	if c.Fixed = r.boolean(t, "fixed_camera", false); c.Fixed && c.Follow {
		r.fail(t.get("fixed_camera").line, "add follow = false to use marks alone, or leave fixed_camera out", "fixed_camera is for marks alone: where the vehicle is followed the camera's movement is measured")
	}
	if c.Lanes < 1 {
		r.fail(t.get("lanes").line, "write how many vehicles are in view", "lanes = %d is not above zero", c.Lanes)
	}
	for _, m := range r.tables(t, "marks", "marks = [ { frame = 30, x = 500.2, y = 700.9 } ]") {
		r.known(m, "a mark of [trace]", "frame", "lane", "x", "y", "u")
		h := HandMark{Frame: r.whole(m, "frame", -1), Lane: r.whole(m, "lane", 1)}
		if h.Frame < 0 {
			r.fail(m.line, "name the frame, counted from 0", "a mark of [trace] has no frame")
		}
		if h.Lane < 1 || h.Lane > c.Lanes {
			r.fail(m.line, "lanes count from 1, left to right", "a mark of [trace] is in lane %d of %d", h.Lane, c.Lanes)
		}
		h.X, h.Y = r.place(m, "a mark of [trace]")
		if u := r.pixels(m, "u"); u != nil {
			if h.U = *u; h.U == 0 {
				r.fail(m.line, `write a standard uncertainty above zero, u = "1 px", or leave it out: "0.5 px"`, "a mark of [trace] is stated to be exact: no place read from a picture is")
			}
		}
		c.Marks = append(c.Marks, h)
	}
	if !c.Follow && len(c.Marks) == 0 {
		r.fail(t.line, "add marks, or leave follow out", "follow = false leaves nothing to measure: there are no marks")
	}
}

func (r *reader) box(v *value, what string) *[4]float64 {
	n := r.numbers(v, what, 4)
	if r.err != nil || n == nil {
		return nil
	}
	if n[2] <= 0 || n[3] <= 0 {
		r.fail(v.line, what+" = [x, y, width, height] in pixels", "%s has no size", what)
	}
	return &[4]float64{n[0], n[1], n[2], n[3]}
}

func (r *reader) questions(t *table, q *Questions) {
	r.known(t, "[questions]", "speeds", "gates", "drop_check", "average_speeds")
	for _, v := range r.list(t, "speeds", `speeds = ["60 mph", "100 km/h"]`) {
		s, ok := r.measure(v, "speeds", units.Speed)
		if ok && s.Value <= 0 {
			r.fail(v.line, "leave it out", "a speed of %s is not above zero", v.text)
		}
		q.Speeds = append(q.Speeds, s)
	}
	sort.SliceStable(q.Speeds, func(i, j int) bool { return q.Speeds[i].Value < q.Speeds[j].Value })
	q.DropCheck = r.boolean(t, "drop_check", false)
	r.gates(t, q)
	r.averageSpeeds(t, q)
}

// mostGates is how many gates one launch may have.
const mostGates = 1000

func (r *reader) gates(t *table, q *Questions) {
	v := t.get("gates")
	if v == nil || r.err != nil {
		return
	}
	const example = `gates = ["0.5 m", "1 m"], or { every = "0.2 m", to = "2 m" }`
	switch v.kind {
	case isList:
		if r.tooLong(v, "gates") {
			return
		}
		for _, e := range v.list {
			g, ok := r.measure(e, "gates", units.Length)
			if ok && g.Value <= 0 {
				r.fail(e.line, "gates are heights above the traced point's rest position", "a gate at %s is not above rest", e.text)
			}
			if q.GateUnit == "" {
				q.GateUnit = g.Unit
			}
			q.Gates = append(q.Gates, g.Value)
		}
		sort.Float64s(q.Gates)
	case isTable:
		r.known(v.table, "gates", "every", "to")
		every, okEvery := r.positive(v.table, "every", units.Length)
		to, okTo := r.positive(v.table, "to", units.Length)
		if !okEvery || !okTo {
			r.fail(v.line, "write "+example, "gates need both every and to")
			return
		}
		n := math.Floor(to.Value/every.Value*(1+1e-9) + 1e-9)
		if n < 1 || n > mostGates {
			r.fail(v.line, "choose 1 to 1000 gates", "gates every %g m up to %g m are %.0f gates", every.Value, to.Value, n)
			return
		}
		q.GateUnit = every.Unit
		for i := 1; i <= int(n); i++ {
			q.Gates = append(q.Gates, float64(i)*every.Value)
		}
	default:
		r.fail(v.line, "write "+example, "gates is %s", v.kind)
	}
}
