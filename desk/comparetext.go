package desk

import (
	"fmt"
	"io"
	"text/tabwriter"

	"padside/metrology"
	"padside/study"
	"padside/units"
	"padside/wording"
)

// Text writes a comparison for a person: each answer launch by launch, ratios as sentences, the finishing order.
func (s *CompareSheet) Text(w io.Writer) error {
	r, err := wording.New(s.questions[0], wording.Units{})
	if err != nil {
		return err
	}
	for i, l := range s.Launches {
		setup := ""
		if l.Setup != "" {
			setup = ", setup " + l.Setup
		}
		fmt.Fprintf(w, "%d  %s%s\n", i+1, l.Title, setup)
	}
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	for i := range s.Answers {
		row := &s.Answers[i]
		q := row.Question()
		u := r.UnitOf(metrology.Answer{ID: row.ID, Unit: row.Unit, Value: new(float64)})
		fmt.Fprintf(t, "\n%s\tvalue\t95 %% interval\n", r.Name(q))
		for k, a := range row.Each {
			value, interval := wording.Text(a, u)
			fmt.Fprintf(t, "  %d\t%s\t%s\n", k+1, value, interval)
		}
		for _, p := range row.Ratios {
			fmt.Fprintf(t, "  %d to %d\t%s\t%s\n", p.Of, p.To, ratioText(p), oddsText(row, p))
		}
	}
	if err := t.Flush(); err != nil {
		return err
	}
	s.orderText(w)
	s.designsText(w, r)
	s.repeatsText(w, r)
	s.sweepText(w, r)
	s.modelText(w, r)
	return nil
}

// ratioText words a ratio with its interval, rounded by it.
func ratioText(p study.Pair) string {
	sd := (p.Interval[1] - p.Interval[0]) / 4
	place, ok := metrology.Place(sd, metrology.Digits)
	if !ok {
		return fmt.Sprintf("%.6g times", p.Value)
	}
	lo, hi := metrology.Ends(metrology.Interval{Lo: p.Interval[0], Hi: p.Interval[1]}, sd, metrology.Digits)
	return fmt.Sprintf("%s times, between %s and %s", metrology.Round(p.Value, place), lo, hi)
}

// oddsText says how likely the first has the smaller value.
func oddsText(r *study.Row, p study.Pair) string {
	for _, o := range r.Odds {
		if o.First == p.Of && o.Second == p.To {
			return fmt.Sprintf("odds that %d is less: %s", p.Of, oddsFigure(o.Probability))
		}
	}
	return ""
}

func (s *CompareSheet) orderText(w io.Writer) {
	if len(s.Order) == 0 {
		return
	}
	fmt.Fprintf(w, "\nplaces by %s\n", s.OrderBy)
	for i, p := range s.Order {
		fmt.Fprintf(w, "  %-4s", study.PlaceWords(s.Order, i))
		for k, n := range p {
			if k > 0 {
				fmt.Fprint(w, "; ")
			}
			fmt.Fprintf(w, "%d %s", n, s.Launches[n-1].Title)
		}
		fmt.Fprintln(w)
	}
}

func (s *CompareSheet) repeatsText(w io.Writer, r wording.Reader) {
	if len(s.Repeats) == 0 {
		return
	}
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintf(t, "\nmean of launches like these\tvalue\t95 %% interval\tlaunches differ by\tmeasuring by\n")
	for _, m := range s.Repeats {
		u := r.UnitOf(m.Answer)
		value, interval := wording.Text(m.Answer, u)
		fmt.Fprintf(t, "%s\t%s\t%s\t%.2g %s\t%.2g %s\n", r.Name(m.Answer), value, interval,
			u.DeltaFromSI(m.BetweenSD), u.Symbol, u.DeltaFromSI(m.WithinSD), u.Symbol)
	}
	t.Flush()
	for _, m := range s.Repeats {
		if m.Outlier > 0 {
			fmt.Fprintf(w, "launch %d (%s) lies off the others in %s; it is kept in the mean\n", m.Outlier, s.Launches[m.Outlier-1].Title, r.Name(m.Answer))
		}
	}
}

func (s *CompareSheet) sweepText(w io.Writer, r wording.Reader) {
	for i := range s.Sweep {
		l := &s.Sweep[i]
		value, interval := l.best()
		fmt.Fprintf(w, "\n%s over %s: best at %s", r.Name(l.question()), l.Key, value)
		if interval != "" {
			fmt.Fprintf(w, " (%s)", interval)
		}
		if l.Outside {
			fmt.Fprint(w, ", and perhaps beyond the range flown")
		}
		fmt.Fprintln(w)
	}
}

// siSymbol is the symbol of a dimension's SI unit.
func siSymbol(d units.Dimension) string { return units.SI(d).Symbol }
