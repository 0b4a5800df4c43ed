package desk

import (
	"fmt"
	"io"
	"text/tabwriter"

	"padside/wording"
)

// Text writes the result sheet of a heat for a terminal.
func (s *HeatSheet) Text(w io.Writer) error {
	v, err := s.View(wording.Units{})
	if err != nil {
		return err
	}
	fmt.Fprint(w, v.Title)
	if v.Date != "" {
		fmt.Fprintf(w, ", %s", v.Date)
	}
	fmt.Fprintf(w, "\nraced on %s; %s\n", v.RacedOn, v.Best)
	for _, rule := range v.Rules {
		fmt.Fprintf(w, "rule     %s\n", rule)
	}
	if placed := v.Placed(); len(placed) > 0 {
		t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
		fmt.Fprintf(t, "\nplace\tno.\tentry\tresult\t95 %% interval\tbehind the best\t95 %% interval\todds of first\n")
		for _, g := range placed {
			for _, l := range g.Lines {
				fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", l.Place, l.Number, l.Name, l.Text, l.Interval, l.Behind, l.Between, l.First)
			}
		}
		if err := t.Flush(); err != nil {
			return err
		}
	}
	for _, g := range v.Unplaced() {
		fmt.Fprintf(w, "\n%s\n", g.Words)
		for _, l := range g.Lines {
			fmt.Fprintf(w, "  %s  %s", l.Number, l.Name)
			if l.Text != "" {
				fmt.Fprintf(w, "  %s (%s)", l.Text, l.Interval)
			}
			fmt.Fprintln(w)
			for _, reason := range l.Why() {
				fmt.Fprintf(w, "      %s\n", reason)
			}
		}
	}
	for _, l := range v.Lines {
		for _, note := range l.Notes {
			fmt.Fprintf(w, "\n%s %s: %s\n", l.Number, l.Name, note)
		}
	}
	fmt.Fprintln(w)
	for _, m := range v.Measured {
		fmt.Fprintln(w, m)
	}
	return nil
}
