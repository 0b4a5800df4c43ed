package wording

import (
	"fmt"
	"math"

	"padside/fault"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/units"
)

// Units are the units a person wants to read. Empty fields mean: as the questions were asked, else SI.
type Units struct {
	Speed        string `json:"speed"`        // "m/s", "km/h", "mph", "ft/s"
	Length       string `json:"length"`       // "m", "ft"
	Acceleration string `json:"acceleration"` // "m/s2", "g"
}

// Reader words answers for a person.
type Reader struct {
	speed, gate units.Unit
	pull        []units.Unit
	written     map[float64]string // m/s -> as asked
}

// New makes the reader of a launch's answers.
func New(q logbook.Questions, want Units) (Reader, error) {
	g, _ := units.Lookup("g", units.Acceleration)
	r := Reader{speed: units.SI(units.Speed), gate: units.SI(units.Length),
		pull: []units.Unit{units.SI(units.Acceleration), g}, written: map[float64]string{}}
	for i, s := range q.Speeds {
		u, ok := units.Lookup(s.Unit, units.Speed)
		if !ok {
			continue
		}
		if i == 0 {
			r.speed = u
		}
		r.written[s.Value] = fmt.Sprintf("%.6g %s", u.FromSI(s.Value), u.Symbol)
	}
	if u, ok := units.Lookup(q.GateUnit, units.Length); ok {
		r.gate = u
	}
	return r, r.prefer(want)
}

// prefer takes up the units a person chose.
func (r *Reader) prefer(want Units) error {
	for _, c := range []struct {
		symbol string
		of     units.Dimension
		to     *units.Unit
	}{{want.Speed, units.Speed, &r.speed}, {want.Length, units.Length, &r.gate}} {
		if c.symbol == "" {
			continue
		}
		u, ok := units.Lookup(c.symbol, c.of)
		if !ok {
			return faultUnit(c.symbol, c.of)
		}
		*c.to = u
	}
	if want.Acceleration == "" {
		return nil
	}
	u, ok := units.Lookup(want.Acceleration, units.Acceleration)
	if !ok {
		return faultUnit(want.Acceleration, units.Acceleration)
	}
	r.pull = []units.Unit{u}
	return nil
}

func faultUnit(symbol string, d units.Dimension) error {
	fit := ""
	for i, u := range units.Fitting(d) {
		if i > 0 {
			fit += ", "
		}
		fit += u.Symbol
	}
	return fault.Requestf("units that fit: "+fit, "%q is no unit of %s", symbol, d)
}

// InSeconds is the time, s, from which times are said in seconds and not in milliseconds.
const InSeconds = 2

// TimeText writes a time that has no interval.
func TimeText(v float64) string {
	if v >= InSeconds {
		return fmt.Sprintf("%.3g s", v)
	}
	return fmt.Sprintf("%.4g ms", 1e3*v)
}

// Speed is the unit in which speeds are read.
func (r Reader) Speed() units.Unit { return r.speed }

// Height is the unit in which heights are read.
func (r Reader) Height() units.Unit { return r.gate }

// SpeedText is a speed as asked for, else in the reader's unit.
func (r Reader) SpeedText(v float64) string {
	if s, ok := r.written[v]; ok {
		return s
	}
	return fmt.Sprintf("%.4g %s", r.speed.FromSI(v), r.speed.Symbol)
}

// GateText is a height in the reader's unit.
func (r Reader) GateText(v float64) string {
	return fmt.Sprintf("%.4g %s", r.gate.FromSI(v), r.gate.Symbol)
}

// Name says what an answer is in the reader's words and units.
func (r Reader) Name(a metrology.Answer) string {
	switch a.ID {
	case motion.FirstMotion:
		return "first motion"
	case motion.TimeToSpeed:
		return "time to " + r.SpeedText(*a.Speed)
	case motion.MeanAccelerationToSpeed:
		return "mean acceleration to " + r.SpeedText(*a.Speed)
	case motion.PeakSpeed:
		return "peak speed in view"
	case motion.PeakAcceleration:
		if a.Window != nil {
			return "peak acceleration over " + TimeText(*a.Window)
		}
		return "peak acceleration"
	case motion.GateCrossing:
		return "at " + r.GateText(*a.Height)
	case motion.GateSpeed:
		return "speed at " + r.GateText(*a.Height)
	case motion.SplitSpeed:
		return "mean speed, " + r.GateText(*a.From) + " to " + r.GateText(*a.To)
	case motion.AverageSpeed:
		return fmt.Sprintf("mean speed, frames %d to %d", *a.FromFrame, *a.ToFrame)
	case motion.ViewTime:
		return "in view for"
	case motion.FreeFallAcceleration:
		if a.Expected != nil {
			return fmt.Sprintf("free fall (local gravity %.4f m/s2)", *a.Expected)
		}
		return "free fall"
	}
	return a.ID
}

// UnitsOf says in which units an answer is shown: times in ms or, where they are long, in s, speeds in SI and as asked,
// accelerations in SI and in g.
func (r Reader) UnitsOf(a metrology.Answer) []units.Unit {
	switch a.Unit {
	case "s":
		if a.Value != nil && math.Abs(*a.Value) >= InSeconds {
			return []units.Unit{units.SI(units.Time)}
		}
		u, _ := units.Lookup("ms", units.Time)
		return []units.Unit{u}
	case "m/s":
		if r.speed.Symbol == "m/s" || a.Value == nil {
			return []units.Unit{units.SI(units.Speed)}
		}
		return []units.Unit{units.SI(units.Speed), r.speed}
	case "m/s2":
		if a.Value == nil || a.ID == motion.FreeFallAcceleration {
			return []units.Unit{units.SI(units.Acceleration)}
		}
		return r.pull
	}
	return []units.Unit{{Symbol: a.Unit, Num: 1, Den: 1}}
}

// UnitOf is the one unit an answer is Text in: the reader's own.
func (r Reader) UnitOf(a metrology.Answer) units.Unit {
	list := r.UnitsOf(a)
	return list[len(list)-1]
}
