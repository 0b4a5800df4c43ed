package desk

import (
	"fmt"
	"io"
	"text/tabwriter"

	"padside/metrology"
	"padside/motion"
	"padside/units"
)

// Text writes the answers as a table for a person: each value with its 95 % interval, rounded by
// its uncertainty, in the units the questions were asked in, and what limits it.
func (m *Measurement) Text(w io.Writer) error {
	s := m.Sheet
	fmt.Fprintf(w, "%s\n", s.Launch.Title)
	fmt.Fprintf(w, "%d frames of %d x %d px, time by %s, %.5g per second\n\n",
		s.Footage.Frames, s.Footage.Width, s.Footage.Height, s.Footage.Basis, s.Footage.RateHz)
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "\tvalue\t95 % interval\tlimited by")
	lane := 0
	for _, a := range s.Answers {
		if len(m.Lanes) > 1 && a.Lane != lane {
			lane = a.Lane
			fmt.Fprintf(t, "lane %d\t\t\t\n", lane)
		}
		r := m.reader()
		for i, u := range r.units(a) {
			name := r.name(a)
			if i > 0 {
				name = ""
			}
			value, interval := worded(a, u)
			limit := limitedBy(a)
			if i > 0 {
				limit = ""
			}
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", name, value, interval, limit)
		}
	}
	return t.Flush()
}

// reader knows the units a person asked in.
type reader struct {
	speed, gate units.Unit
	written     map[float64]string // m/s -> as asked
}

func (m *Measurement) reader() reader {
	r := reader{speed: units.SI(units.Speed), gate: units.SI(units.Length), written: map[float64]string{}}
	for i, q := range m.Launch.Questions.Speeds {
		u, ok := units.Lookup(q.Unit, units.Speed)
		if !ok {
			continue
		}
		if i == 0 {
			r.speed = u
		}
		r.written[q.Value] = fmt.Sprintf("%.6g %s", u.FromSI(q.Value), u.Symbol)
	}
	if u, ok := units.Lookup(m.Launch.Questions.GateUnit, units.Length); ok {
		r.gate = u
	}
	return r
}

// name says what an answer is in the reader's words and units.
func (r reader) name(a metrology.Answer) string {
	speed := func() string {
		if s, ok := r.written[*a.Speed]; ok {
			return s
		}
		return fmt.Sprintf("%.6g m/s", *a.Speed)
	}
	gate := func(v float64) string { return fmt.Sprintf("%.4g %s", r.gate.FromSI(v), r.gate.Symbol) }
	switch a.ID {
	case motion.FirstMotion:
		return "first motion"
	case motion.TimeToSpeed:
		return "time to " + speed()
	case motion.MeanAccelerationToSpeed:
		return "mean acceleration to " + speed()
	case motion.PeakSpeed:
		return "peak speed in view"
	case motion.PeakAcceleration:
		if a.Window != nil {
			return fmt.Sprintf("peak acceleration over %.3g ms", 1e3**a.Window)
		}
		return "peak acceleration"
	case motion.GateCrossing:
		return "at " + gate(*a.Height)
	case motion.GateSpeed:
		return "speed at " + gate(*a.Height)
	case motion.SplitSpeed:
		return "mean speed, " + gate(*a.From) + " to " + gate(*a.To)
	case motion.ViewTime:
		return "in view for"
	case motion.FreeFallAcceleration:
		if a.Expected != nil {
			return fmt.Sprintf("free fall (local gravity %.4f m/s2)", *a.Expected)
		}
		return "free fall"
	}
	return a.ID
}

// units says in which units an answer is shown: times in ms, speeds in SI and as asked,
// accelerations in SI and in g.
func (r reader) units(a metrology.Answer) []units.Unit {
	switch a.Unit {
	case "s":
		u, _ := units.Lookup("ms", units.Time)
		return []units.Unit{u}
	case "m/s":
		if r.speed.Symbol == "m/s" || a.Value == nil {
			return []units.Unit{units.SI(units.Speed)}
		}
		return []units.Unit{units.SI(units.Speed), r.speed}
	case "m/s2":
		if a.Value == nil || a.ID == motion.FreeFallAcceleration {
			return []units.Unit{units.SI(units.Acceleration)}
		}
		g, _ := units.Lookup("g", units.Acceleration)
		return []units.Unit{units.SI(units.Acceleration), g}
	}
	return []units.Unit{{Symbol: a.Unit, Num: 1, Den: 1}}
}

// worded writes value and interval in a unit, or why there is none.
func worded(a metrology.Answer, u units.Unit) (value, interval string) {
	if a.Value == nil {
		if a.Status == metrology.NotReached {
			return "not reached", a.Reason
		}
		return "cannot say", a.Reason
	}
	sd := u.DeltaFromSI(*a.U)
	place, ok := metrology.Place(sd, metrology.Digits)
	if !ok {
		place = -6
	}
	lo, hi := metrology.Ends(metrology.Interval{Lo: u.FromSI(a.Interval[0]), Hi: u.FromSI(a.Interval[1])}, sd, metrology.Digits)
	value = metrology.Round(u.FromSI(*a.Value), place) + " " + u.Symbol
	if a.Extrapolated {
		value += " *"
	}
	return value, lo + " to " + hi
}

func limitedBy(a metrology.Answer) string {
	if len(a.Budget) == 0 {
		return ""
	}
	return fmt.Sprintf("%s (%.0f %%)", a.Budget[0].Source, 100*a.Budget[0].Share)
}
