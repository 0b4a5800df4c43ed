package desk

import (
	"context"
	"fmt"
	"math"
	"text/tabwriter"
)

// sweep compares the fills: each with its interval, the best fill beside the one that the flight model has which
// drew the launches.
func (d *demoDay) sweep(ctx context.Context) error {
	var names []string
	for _, f := range d.club.Fills {
		names = append(names, f.Name)
	}
	c, err := d.desk.comparingKept(names, CompareOptions{Sweep: "water"})
	if err != nil {
		return err
	}
	s, err := c.sheet(ctx)
	if err != nil {
		return err
	}
	r, err := newReader(s.questions[0], ReaderUnits{})
	if err != nil {
		return err
	}
	d.say("\n%s with five fills: which is best?\n", d.club.Fills[0].Take.Vehicles[0])
	t := tabwriter.NewWriter(d.Out, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "\tbest fill\t95 % interval\ttruth")
	for i := range s.Sweep {
		l := &s.Sweep[i]
		value, interval := l.best()
		if l.Outside {
			interval += " or beyond the range flown"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", r.name(l.question()), value, interval, d.besideBest(l))
	}
	return t.Flush()
}

// besideBest words the true best fill. That of the largest values in view has none: each launch leans its own way out of
// the view.
func (d *demoDay) besideBest(l *SweepLine) string {
	if l.Speed == nil && l.Height == nil {
		return ""
	}
	truth := d.bestFill(l)
	words := fmt.Sprintf("%.0f %s", l.written.FromSI(truth), l.written.Symbol)
	d.all++
	if truth < l.Interval[0] || truth > l.Interval[1] {
		return "outside: " + words
	}
	d.held++
	return words
}

// fillStep is how finely the true best fill is sought, m3.
const fillStep = 2.5e-6

// bestFill seeks the best fill within the range flown, in the takes that would be drawn of every fill between.
func (d *demoDay) bestFill(l *SweepLine) float64 {
	first, last := d.club.Fills[0].Bottle.Water, d.club.Fills[len(d.club.Fills)-1].Bottle.Water
	best, at := math.Inf(1), first
	for w := first; w < last+fillStep/2; w += fillStep {
		for _, k := range d.club.Fill(w).Take.Known() {
			if !l.asks(k.ID, k.At) {
				continue
			}
			v := k.Value
			if l.more() {
				v = -v
			}
			if v < best {
				best, at = v, w
			}
		}
	}
	return at
}

// asks says whether the line is about the answer of an id at a speed or a gate.
func (l *SweepLine) asks(id string, at float64) bool {
	of := 0.0
	switch {
	case l.Speed != nil:
		of = *l.Speed
	case l.Height != nil:
		of = *l.Height
	}
	return id == l.ID && math.Abs(at-of) < 1e-6
}
