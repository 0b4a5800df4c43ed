package desk

import (
	"fmt"
	"io"
	"text/tabwriter"

	"padside/wording"
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
	r, err := wording.New(m.Launch.Questions, wording.Units{})
	if err != nil {
		return err
	}
	lane := 0
	for _, a := range s.Answers {
		if len(m.Lanes) > 1 && a.Lane != lane {
			lane = a.Lane
			fmt.Fprintf(t, "lane %d\t\t\t\n", lane)
		}
		for i, u := range r.UnitsOf(a) {
			name := r.Name(a)
			if i > 0 {
				name = ""
			}
			value, interval := wording.Text(a, u)
			limit := wording.Limit(a)
			if i > 0 {
				limit = ""
			}
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", name, value, interval, limit)
		}
	}
	return t.Flush()
}
