package desk

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"text/tabwriter"

	"padside/logbook"
	"padside/scene"
	"padside/wording"
)

// sweep compares the fills: each with its interval, the best fill beside the one that the flight model has which
// drew the launches.
func (d *demoDay) sweep(ctx context.Context) error {
	var names []string
	for _, f := range d.club.Fills {
		names = append(names, f.Name)
	}
	c, err := d.desk.comparingKept(names, CompareOptions{Sweep: "water", Options: Options{Progress: d.stages("fills")}})
	if err != nil {
		return err
	}
	s, err := c.sheet(ctx)
	if err != nil {
		return err
	}
	if s.Model, err = d.desk.sweptModel(ctx, c, names, s); err != nil {
		return err
	}
	r, err := wording.New(s.questions[0], wording.Units{})
	if err != nil {
		return err
	}
	d.say("\n%s with five fills: which is best?\n", d.club.Fills[0].Take.Vehicles[0])
	t := tabwriter.NewWriter(d.Out, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "\tbest fill\t95 % interval\ttruth")
	for i := range s.Sweep {
		l := &s.Sweep[i]
		value, interval := l.best()
		switch {
		case l.Outside && interval == "":
			value, interval = value+" or beyond", "not within what was flown"
		case l.Outside:
			interval += " or beyond"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", r.Name(l.question()), value, interval, d.besideBest(l))
	}
	if m := s.Model; m != nil {
		fmt.Fprintln(t, "by the flight model fitted to all five\t\t\t")
		for _, k := range m.Curves {
			if k.Speed == nil && k.Height == nil || k.AtEnd {
				continue
			}
			l := SweepLine{ID: k.ID, Speed: k.Speed, Height: k.Height, Unit: k.Unit, Optimum: k.Optimum, Interval: k.Interval, written: s.Sweep[0].written}
			value, interval := l.best()
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", r.Name(l.question()), value, interval, d.besideBest(&l))
		}
	}
	return t.Flush()
}

// ClubModel is the flight file of the vehicle of scene.ClubDay that flies with five fills, as its owner knows it: weighed, measured, read
// off a gauge. Hardly a value is exactly the truth.
const ClubModel = `format = 1
title = "Heron"
kind = "bottle"
volume = "1.244(10) L"
water = "300 mL"
pressure = "4.50 bar"
nozzle_diameter = "13.05(10) mm"
dry_mass = "142.6(10) g"
body_diameter = "84.3(5) mm"
drag_coefficient = "0.45(10)"
[site]
elevation = "0 m"
air_temperature = "15 degC"
latitude = "45 deg"
`

// writeModel leaves the flight file that the fills' launch files name.
func (d *demoDay) writeModel() error {
	name := d.club.Fills[0].Take.Model + ".toml"
	return logbook.WriteAtomic(filepath.Join(d.Dir, "flights"), map[string][]byte{name: []byte(ClubModel)})
}

// besideBest words the true best fill. That of the largest values in view has none: each launch leans its own way out of
// the view.
func (d *demoDay) besideBest(l *SweepLine) string {
	if l.Speed == nil && l.Height == nil {
		return ""
	}
	truth := d.bestFill(l)
	words := fmt.Sprintf("%.4g %s", l.written.FromSI(truth), l.written.Symbol)
	d.all++
	if truth < l.Interval[0]-fillExact || truth > l.Interval[1]+fillExact {
		return "outside: " + words
	}
	d.held++
	return words
}

// fillStep and fillExact are how finely the true best fill is sought, first and last, m3.
const (
	fillStep  = 5e-6
	fillExact = 0.1e-6
)

// bestFill seeks the best fill within the range flown, in the takes that would be drawn of every fill between.
func (d *demoDay) bestFill(l *SweepLine) float64 {
	first, last := d.club.Fills[0].Bottle.Water, d.club.Fills[len(d.club.Fills)-1].Bottle.Water
	best := first
	for step, lo, hi := fillStep, first, last; step > fillExact/2; step /= 5 {
		most := math.Inf(-1)
		for n := math.Ceil(max(first, lo)/step - 0.01); n*step < min(last, hi)+step/2; n++ {
			w := max(first, min(last, n*step))
			if v := d.gain(l, w); v > most {
				most, best = v, w
			}
		}
		lo, hi = best-step, best+step
	}
	return best
}

// gain is the answer of a fill, with its sign turned where less is better.
func (d *demoDay) gain(l *SweepLine, water float64) float64 {
	for _, k := range d.truth(water) {
		if k.Of(l.ID, 1, l.question().At()) {
			if l.more() {
				return k.Value
			}
			return -k.Value
		}
	}
	return math.Inf(-1)
}

// truth is what is known of a fill, flown once whichever question asks for it. Fills are told apart to a tenth of fillExact.
func (d *demoDay) truth(water float64) []scene.Known {
	key := int(math.Round(water / (fillExact / 10)))
	if _, flown := d.flown[key]; !flown {
		d.flown[key] = d.club.Fill(water).Take.Known()
	}
	return d.flown[key]
}
