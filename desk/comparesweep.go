package desk

import (
	"fmt"

	"padside/fault"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/study"
	"padside/units"
	"padside/wording"
)

// SweepLine is how one answer depends on the condition swept; SI.
type SweepLine struct {
	ID       string             `json:"id"`
	Speed    *float64           `json:"speed,omitempty"`
	Height   *float64           `json:"height,omitempty"`
	Unit     string             `json:"unit"`
	Key      string             `json:"key"`
	KeyUnit  string             `json:"key_unit"`
	Points   []study.CurvePoint `json:"points"` // the launches: value with its own 95 % interval
	Curve    []study.CurvePoint `json:"curve"`
	Scatter  float64            `json:"scatter_sd"`
	Optimum  float64            `json:"optimum"`
	Interval [2]float64         `json:"optimum_interval95"`
	Outside  bool               `json:"optimum_may_lie_outside"`

	written units.Unit // the condition's, as the first launch has it
}

// question is what the line asks, without a value.
func (l *SweepLine) question() metrology.Answer {
	return metrology.Answer{ID: l.ID, Speed: l.Speed, Height: l.Height, Unit: l.Unit}
}

// more says whether more of the answer is better.
func (l *SweepLine) more() bool { return l.ID != motion.TimeToSpeed }

// best words the optimum with its interval, in the unit in which the launches state the condition.
func (l *SweepLine) best() (value, interval string) {
	in := l.written.FromSI
	sd := l.written.DeltaFromSI((l.Interval[1] - l.Interval[0]) / 4)
	place, ok := metrology.Place(sd, metrology.Digits)
	if !ok {
		return fmt.Sprintf("%.4g %s", in(l.Optimum), l.written.Symbol), ""
	}
	lo, hi := metrology.Ends(metrology.Interval{Lo: in(l.Interval[0]), Hi: in(l.Interval[1])}, sd, metrology.Digits)
	return metrology.Round(in(l.Optimum), place) + " " + l.written.Symbol, lo + " to " + hi + " " + l.written.Symbol
}

// swept picks the answers worth a curve among those that all launches gave: times to a speed, the largest speed and
// acceleration, and the speed at the highest gate all passed.
func swept(c *study.Comparison) []*study.Row {
	var list []*study.Row
	var gate *study.Row
	for i := range c.Rows {
		row := &c.Rows[i]
		if _, _, ok := row.All(); !ok {
			continue
		}
		switch row.ID {
		case motion.TimeToSpeed, motion.PeakSpeed, motion.PeakAcceleration:
			list = append(list, row)
		case motion.GateSpeed:
			if gate == nil || *row.Height > *gate.Height {
				gate = row
			}
		}
	}
	if gate != nil {
		list = append(list, gate)
	}
	return list
}

// sweep draws a curve of each answer over the condition.
func (c *comparing) sweep(s *CompareSheet, compared *study.Comparison) error {
	at, unit, written, err := c.conditions(s)
	if err != nil {
		return err
	}
	r, err := wording.New(s.questions[0], wording.Units{})
	if err != nil {
		return err
	}
	for _, row := range swept(compared) {
		values, draws, _ := row.All()
		line := SweepLine{ID: row.ID, Speed: row.Speed, Height: row.Height, Unit: row.Unit, Key: c.o.Sweep, KeyUnit: unit, written: written}
		var points []study.SweepPoint
		for k := range values {
			points = append(points, study.SweepPoint{At: at[k], Value: values[k], Draws: draws[k]})
			iv := row.Each[k].Interval
			line.Points = append(line.Points, study.CurvePoint{At: at[k], Value: values[k], Low: iv[0], High: iv[1]})
		}
		w, err := study.RunSweep(points, line.more(), s.Seed)
		if err != nil {
			return err
		}
		line.Curve, line.Scatter, line.Optimum, line.Interval, line.Outside = w.Curve, w.ScatterSD, w.Best, w.BestInterval, w.LiesOutside()
		s.Sweep = append(s.Sweep, line)
		if line.Outside {
			best, _ := line.best()
			s.Warnings = append(s.Warnings, fault.Warning{Code: "optimum-outside", Message: fmt.Sprintf(
				"the best %s for %s may lie outside the range flown (%.0f %% of what the launches allow): fly beyond %s", c.o.Sweep, r.Name(line.question()), 100*w.Outside, best)})
		}
	}
	if len(s.Sweep) == 0 {
		return fault.NoAnswerf("ask all launches for a speed they reach", "the launches share no answer that a sweep of %s could improve", c.o.Sweep)
	}
	return nil
}

// conditions reads the condition swept from every launch, in SI, and the unit in which the first states it.
func (c *comparing) conditions(s *CompareSheet) (at []float64, unit string, written units.Unit, err error) {
	by := map[string]*logbook.Launch{}
	for _, l := range c.launches {
		by[l.Path] = l
	}
	for i, one := range s.Launches {
		l, found := by[one.Path], false
		for _, k := range l.Conditions {
			if k.Key != c.o.Sweep || k.Dimension == 0 {
				continue
			}
			at, unit, found = append(at, k.Quantity.Value), siSymbol(k.Dimension), true
			if i > 0 {
				continue
			}
			written = units.SI(k.Dimension)
			if u, ok := units.Lookup(k.Quantity.Unit, k.Dimension); ok {
				written = u
			}
		}
		if !found {
			return nil, "", written, fault.Requestf("write it under [conditions] of each launch, for example water = \"350 mL\"",
				"launch %d (%s) does not state %s as a quantity", i+1, one.Title, c.o.Sweep)
		}
	}
	return at, unit, written, nil
}
