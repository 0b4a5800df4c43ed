package desk

import (
	"fmt"
	"math"

	"padside/fault"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/units"
)

// ReaderUnits are the units a person wants to read. Empty fields mean: as the questions were asked, else SI.
type ReaderUnits struct {
	Speed        string `json:"speed"`        // "m/s", "km/h", "mph", "ft/s"
	Length       string `json:"length"`       // "m", "ft"
	Acceleration string `json:"acceleration"` // "m/s2", "g"
}

// reader words answers for a person.
type reader struct {
	speed, gate units.Unit
	pull        []units.Unit
	written     map[float64]string // m/s -> as asked
}

// newReader makes the reader of a launch's answers.
func newReader(q logbook.Questions, want ReaderUnits) (reader, error) {
	g, _ := units.Lookup("g", units.Acceleration)
	r := reader{speed: units.SI(units.Speed), gate: units.SI(units.Length),
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
func (r *reader) prefer(want ReaderUnits) error {
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

// inSeconds is the time, s, from which times are said in seconds and not in milliseconds.
const inSeconds = 2

// timeText writes a time that has no interval.
func timeText(v float64) string {
	if v >= inSeconds {
		return fmt.Sprintf("%.3g s", v)
	}
	return fmt.Sprintf("%.4g ms", 1e3*v)
}

// speedText is a speed as asked for, else in the reader's unit.
func (r reader) speedText(v float64) string {
	if s, ok := r.written[v]; ok {
		return s
	}
	return fmt.Sprintf("%.4g %s", r.speed.FromSI(v), r.speed.Symbol)
}

func (r reader) gateText(v float64) string {
	return fmt.Sprintf("%.4g %s", r.gate.FromSI(v), r.gate.Symbol)
}

// name says what an answer is in the reader's words and units.
func (r reader) name(a metrology.Answer) string {
	switch a.ID {
	case motion.FirstMotion:
		return "first motion"
	case motion.TimeToSpeed:
		return "time to " + r.speedText(*a.Speed)
	case motion.MeanAccelerationToSpeed:
		return "mean acceleration to " + r.speedText(*a.Speed)
	case motion.PeakSpeed:
		return "peak speed in view"
	case motion.PeakAcceleration:
		if a.Window != nil {
			return "peak acceleration over " + timeText(*a.Window)
		}
		return "peak acceleration"
	case motion.GateCrossing:
		return "at " + r.gateText(*a.Height)
	case motion.GateSpeed:
		return "speed at " + r.gateText(*a.Height)
	case motion.SplitSpeed:
		return "mean speed, " + r.gateText(*a.From) + " to " + r.gateText(*a.To)
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

// units says in which units an answer is shown: times in ms or, where they are long, in s, speeds in SI and as asked,
// accelerations in SI and in g.
func (r reader) units(a metrology.Answer) []units.Unit {
	switch a.Unit {
	case "s":
		if a.Value != nil && math.Abs(*a.Value) >= inSeconds {
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

// unit is the one unit an answer is worded in: the reader's own.
func (r reader) unit(a metrology.Answer) units.Unit {
	list := r.units(a)
	return list[len(list)-1]
}
