package desk

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"padside/predict"
	"padside/units"
	"padside/wording"
)

// Text writes an explanation as tables for a person.
func (s *ExplainSheet) Text(w io.Writer) error {
	if s.Title != "" {
		fmt.Fprintf(w, "%s, explained by %s\n\n", s.Title, s.FlightFile)
	}
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "fitted input\tvalue\t95 % interval\tlimited most by")
	for i, a := range s.Answers {
		if i == len(s.Fitted) {
			fmt.Fprintln(t, "\t\t\t\n\tvalue\t95 % interval\t")
		}
		u := units.Unit{Symbol: a.Unit, Num: 1, Den: 1}
		if i < len(s.Fitted) && s.model != nil {
			u = s.model.written(a.ID, u)
		}
		value, interval := wording.Text(a, u)
		most := ""
		if i < len(s.Fitted) && len(a.Budget) > 0 && a.Value != nil {
			most = fmt.Sprintf("%s, %.0f %%", strings.ReplaceAll(a.Budget[0].Source, "_", " "), 100*a.Budget[0].Share)
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", predict.Name(a.ID), value, interval, most)
	}
	fmt.Fprintln(t, "\t\t\t\nphase\tfrom\tto\t")
	for _, p := range s.Phases {
		ends := ""
		if p.Ends != nil {
			ends = fmt.Sprintf("%.4g to %.4g s", p.Ends[0], p.Ends[1])
		}
		fmt.Fprintf(t, "%s\t%.4g s\t%.4g s\t%s\n", p.Name, p.From, p.To, ends)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	s.sweepText(w)
	s.correlationText(w)
	s.testText(w)
	if s.Inertia != nil {
		fmt.Fprintln(w, s.Inertia.Text)
	}
	return nil
}

// correlationText writes the correlations of the fitted inputs.
func (s *ExplainSheet) correlationText(w io.Writer) {
	if len(s.Correlation) < 2 {
		return
	}
	fmt.Fprintln(w, "\ncorrelations")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	for i, row := range s.Correlation {
		fmt.Fprintf(t, "%s\t", strings.ReplaceAll(s.Fitted[i], "_", " "))
		for j := range i + 1 {
			fmt.Fprintf(t, "%.2f\t", row[j])
		}
		fmt.Fprintln(t)
	}
	t.Flush()
}

// testText says how the residuals look.
func (s *ExplainSheet) testText(w io.Writer) {
	x := s.Test
	verdict := "they look like noise: the model fits"
	switch {
	case s.Impossible != "":
		verdict = "only an impossible flight comes so near: it has " + s.Impossible
	case !x.Fits:
		verdict = "the model does not fit"
	case x.SmoothProbability < 0.05:
		verdict = "the model fits within the trace's own errors, which neighbouring frames share"
	}
	fmt.Fprintf(w, "\nresiduals of %d frames: noise of %.2g mm, slow waves of %.2g mm (probability %.2g by chance), neighbours' correlation %.2f, %d runs of one sign where %.0f are expected; %s\n",
		x.Frames, 1e3*x.Noise, 1e3*x.Smooth, x.SmoothProbability, x.Lag1, x.Runs, x.RunsExpected, verdict)
}

// sweepText says what the fitted model has over its easiest input.
func (s *ExplainSheet) sweepText(w io.Writer) {
	if s.Sweep == nil || s.model == nil {
		return
	}
	u := s.model.written(s.Sweep.Key, units.Unit{Symbol: s.Sweep.KeyUnit, Num: 1, Den: 1})
	fmt.Fprintf(w, "\nby the fitted model, over %s\n", strings.ReplaceAll(s.Sweep.Key, "_", " "))
	for _, k := range s.Sweep.Curves {
		l := SweepLine{Optimum: k.Optimum, Interval: k.Interval, written: u}
		value, interval := l.best()
		if k.AtEnd || interval == "" {
			fmt.Fprintf(w, "  %s: best at the end of the range looked at, %s; %.4g %s there\n", predict.Name(k.ID), value, k.Value, k.Unit)
			continue
		}
		fmt.Fprintf(w, "  %s: best at %s (%s); %.4g %s there\n", predict.Name(k.ID), value, interval, k.Value, k.Unit)
	}
}
