package main

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"padside/metrology"
)

const heading = `| group | class | takes | answers | intervals hold | | where the trace is sound | grave misses | losses unsaid | refused | no answer | insufficient answers | speeds | accelerations | times | instants |
|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|`

// tally counts the fate of the answers of some takes. Its fields are those of the JSON in which one take is handed on.
type tally struct {
	Takes, Refused, Failed int // Failed: neither refused nor answered
	Empty                  int // takes measured without any value
	Answers, Held, Grave   int
	Silent                 int // answers without a value
	Sound, SoundHeld       int // answers of takes whose trace is sound, and how many of them hold
	Unsaid                 int // losses of which no warning tells
	Widths                 map[string][]float64
	Off                    map[string][]float64 // by the answer's id: value less truth, in half widths of the interval
}

// join adds the counts of another.
func (t *tally) join(o *tally) {
	t.Takes, t.Refused, t.Failed, t.Empty = t.Takes+o.Takes, t.Refused+o.Refused, t.Failed+o.Failed, t.Empty+o.Empty
	t.Answers, t.Held, t.Grave = t.Answers+o.Answers, t.Held+o.Held, t.Grave+o.Grave
	t.Silent, t.Unsaid = t.Silent+o.Silent, t.Unsaid+o.Unsaid
	t.Sound, t.SoundHeld = t.Sound+o.Sound, t.SoundHeld+o.SoundHeld
	t.Widths, t.Off = joined(t.Widths, o.Widths), joined(t.Off, o.Off)
}

// joined adds the lists of one map to those of another, which may be nil.
func joined(to, from map[string][]float64) map[string][]float64 {
	if to == nil {
		to = map[string][]float64{}
	}
	for key, list := range from {
		to[key] = append(to[key], list...)
	}
	return to
}

// sides says, of each answer, on which side of the truth its values lie: quantiles of value less truth, in half widths.
func (t *tally) sides() string {
	out := "| answer | answers | intervals hold | 16 % of the values lie below | 50 % | 84 % |\n|---|---|---|---|---|---|\n"
	for _, id := range slices.Sorted(maps.Keys(t.Off)) {
		off := t.Off[id]
		slices.Sort(off)
		held := 0
		for _, x := range off {
			if math.Abs(x) <= 1 {
				held++
			}
		}
		at := func(share float64) float64 { return off[int(share*float64(len(off)-1)+0.5)] }
		out += fmt.Sprintf("| %s | %d | %.0f %% | %+.2f | %+.2f | %+.2f |\n", id, len(off), 100*float64(held)/float64(len(off)), at(0.16), at(0.5), at(0.84))
	}
	return out
}

// row is a row of the table.
func (t *tally) row(group, name string) string {
	share := func(held, of int) string {
		if of == 0 {
			return ""
		}
		return fmt.Sprintf("%.0f %%", 100*float64(held)/float64(of))
	}
	sound := share(t.SoundHeld, t.Sound)
	if sound != "" {
		sound += fmt.Sprintf(" of %d", t.Sound)
	}
	refused := fmt.Sprint(t.Refused)
	if t.Failed > 0 {
		refused += fmt.Sprintf(", %d failed", t.Failed)
	}
	width := func(kind, format string, scale float64) string {
		if len(t.Widths[kind]) == 0 {
			return ""
		}
		return fmt.Sprintf(format, scale*median(slices.Clone(t.Widths[kind])))
	}
	return fmt.Sprintf("| %s | %s | %d | %d | %d | %s | %s | %d | %d | %s | %d | %d | %s | %s | %s | %s |", group, name, t.Takes, t.Answers, t.Held, share(t.Held, t.Answers), sound, t.Grave, t.Unsaid,
		refused, t.Empty, t.Silent, width(speeds, "%.3g %%", 100), width(accelerations, "%.3g %%", 100), width(times, "%.3g %%", 100), width(instants, "%.2g fr", 1))
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
