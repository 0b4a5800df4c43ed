package desk

import (
	"fmt"
	"io"
	"text/tabwriter"

	"padside/metrology"
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
	r, err := newReader(m.Launch.Questions, ReaderUnits{})
	if err != nil {
		return err
	}
	lane := 0
	for _, a := range s.Answers {
		if len(m.Lanes) > 1 && a.Lane != lane {
			lane = a.Lane
			fmt.Fprintf(t, "lane %d\t\t\t\n", lane)
		}
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
