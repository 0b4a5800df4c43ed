package desk

import (
	"fmt"
	"io"
	"slices"
	"text/tabwriter"

	"padside/study"
	"padside/units"
	"padside/wording"
)

// Text writes the race for a person: places, times from first motion to the finish, and what was written.
func (s *RaceSheet) Text(w io.Writer) error {
	fmt.Fprintf(w, "first motion to %s\n\n", s.read.GateText(s.Finish))
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "place\tlaunch\ttime\t95 % interval\tbehind the first")
	ms, _ := units.Lookup("ms", units.Time)
	listed := map[int]bool{}
	line := func(place string, k int) {
		listed[k] = true
		a := s.Times[k-1]
		u := ms
		if a.Value != nil && *a.Value >= wording.InSeconds {
			u = units.SI(units.Time)
		}
		value, interval := wording.Text(a, u)
		gap := ""
		if len(s.Order) > 0 && a.Value != nil && !slices.Contains(s.Order[0], k) {
			gap = s.gap(k, s.Order[0][0])
		}
		fmt.Fprintf(t, "%s\t%d %s\t%s\t%s\t%s\n", place, k, s.Launches[k-1].Title, value, interval, gap)
	}
	for i, p := range s.Order {
		for _, k := range p {
			line(study.PlaceWords(s.Order, i), k)
		}
	}
	for k := range s.Launches {
		if !listed[k+1] {
			line("", k+1)
		}
	}
	if err := t.Flush(); err != nil {
		return err
	}
	if c := s.Clip; c != nil {
		fmt.Fprintf(w, "\n%s: %d x %d px, %d frames, slowed %.4g times\n", c.Path, c.Width, c.Height, c.Frames, c.Slow)
	}
	if c := s.Still; c != nil {
		fmt.Fprintf(w, "%s: photo finish, %d x %d px\n", c.Path, c.Width, c.Height)
	}
	return nil
}
