package main

import (
	"fmt"
	"slices"

	"padside/metrology"
)

const heading = `| group | class | takes | answers | intervals hold | | grave misses | losses unsaid | refused | no answer | insufficient answers | speeds | accelerations | times | instants |
|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|`

// tally counts the fate of the answers of some takes.
type tally struct {
	takes, refused, failed int // failed: neither refused nor answered
	empty                  int // takes measured without any value
	answers, held, grave   int
	silent                 int // answers without a value
	unsaid                 int
	widths                 map[string][]float64
}

// join adds the counts of another.
func (t *tally) join(o *tally) {
	t.takes, t.refused, t.failed, t.empty = t.takes+o.takes, t.refused+o.refused, t.failed+o.failed, t.empty+o.empty
	t.answers, t.held, t.grave = t.answers+o.answers, t.held+o.held, t.grave+o.grave
	t.silent, t.unsaid = t.silent+o.silent, t.unsaid+o.unsaid
	if t.widths == nil {
		t.widths = map[string][]float64{}
	}
	for kind, w := range o.widths {
		t.widths[kind] = append(t.widths[kind], w...)
	}
}

// row is a row of the table.
func (t *tally) row(group, name string) string {
	share := ""
	if t.answers > 0 {
		share = fmt.Sprintf("%.0f %%", 100*float64(t.held)/float64(t.answers))
	}
	refused := fmt.Sprint(t.refused)
	if t.failed > 0 {
		refused += fmt.Sprintf(", %d failed", t.failed)
	}
	width := func(kind, format string, scale float64) string {
		if len(t.widths[kind]) == 0 {
			return ""
		}
		return fmt.Sprintf(format, scale*median(slices.Clone(t.widths[kind])))
	}
	return fmt.Sprintf("| %s | %s | %d | %d | %d | %s | %d | %d | %s | %d | %d | %s | %s | %s | %s |", group, name, t.takes, t.answers, t.held, share, t.grave, t.unsaid,
		refused, t.empty, t.silent, width(speeds, "%.3g %%", 100), width(accelerations, "%.3g %%", 100), width(times, "%.3g %%", 100), width(instants, "%.2g fr", 1))
}

func median(x []float64) float64 {
	slices.Sort(x)
	return x[len(x)/2]
}

// of is the speed or the heights an answer speaks of.
func of(a metrology.Answer) string {
	switch {
	case a.Speed != nil:
		return fmt.Sprintf(" (%.4g m/s)", *a.Speed)
	case a.Height != nil:
		return fmt.Sprintf(" (%.4g m)", *a.Height)
	case a.FromFrame != nil:
		return fmt.Sprintf(" (frames %d to %d)", *a.FromFrame, *a.ToFrame)
	case a.From != nil:
		return fmt.Sprintf(" (%.4g to %.4g m)", *a.From, *a.To)
	}
	return ""
}
