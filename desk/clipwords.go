package desk

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"unicode/utf8"

	"padside/metrology"
	"padside/motion"
	"padside/units"
	"padside/wording"
)

// steadyWords writes a state's value with its 95 % interval, twice its standard uncertainty either
// way. Places are those of the usual uncertainty or, where its own is larger, of that, so that the
// last digits do not jump from frame to frame.
func steadyWords(u units.Unit, value, sd, usual float64) string {
	place, ok := metrology.Place(2*u.DeltaFromSI(sd), metrology.Digits)
	common, known := metrology.Place(2*u.DeltaFromSI(usual), metrology.Digits)
	switch {
	case !ok && !known:
		return fmt.Sprintf("%.3g %s", u.FromSI(value), u.Symbol)
	case !ok:
		place = common
	case known:
		place = max(place, common)
	}
	half := math.Ceil(2*u.DeltaFromSI(sd)/math.Pow10(place)) * math.Pow10(place) // never rounded to nothing
	return fmt.Sprintf("%s ± %s %s", metrology.Round(u.FromSI(value), place), metrology.Round(half, place), u.Symbol)
}

// split is what the clip lists once its instant has come.
type split struct {
	at    float64 // s after first motion
	speed bool    // a speed that was asked for, not a gate
	cells []string
}

// findSplits lists when gates were passed and speeds reached, as far as that was measured, in
// order.
func (k *marking) findSplits() {
	speedAt := map[float64]string{}
	for _, a := range k.answers {
		if a.ID == motion.GateSpeed && a.Value != nil && a.Height != nil {
			speedAt[*a.Height] = spanned(a, k.read.Speed())
		}
	}
	for _, a := range k.answers {
		switch {
		case !k.timed || a.Value == nil:
		case a.ID == motion.GateCrossing:
			cells := []string{k.read.GateText(*a.Height), spanned(a, timeUnit(*a.Value))}
			if v := speedAt[*a.Height]; v != "" {
				cells = append(cells, v)
			}
			k.splits = append(k.splits, split{at: *a.Value, cells: cells})
		case a.ID == motion.TimeToSpeed:
			k.splits = append(k.splits, split{at: *a.Value, speed: true, cells: []string{k.read.SpeedText(*a.Speed), spanned(a, timeUnit(*a.Value))}})
		}
	}
	sort.SliceStable(k.splits, func(i, j int) bool { return k.splits[i].at < k.splits[j].at })
}

// spanned writes a value with the longer arm of its 95 % interval to either side, which is short.
func spanned(a metrology.Answer, u units.Unit) string {
	v, lo, hi := u.FromSI(*a.Value), u.FromSI(a.Interval[0]), u.FromSI(a.Interval[1])
	half := max(v-lo, hi-v)
	place, ok := metrology.Place(half, metrology.Digits)
	if !ok {
		return fmt.Sprintf("%.4g %s", v, u.Symbol)
	}
	half = math.Ceil(half/math.Pow10(place)-1e-9) * math.Pow10(place)
	return fmt.Sprintf("%s ± %s %s", metrology.Round(v, place), metrology.Round(half, place), u.Symbol)
}

// timeUnit is the unit in which a time is read.
func timeUnit(t float64) units.Unit {
	if math.Abs(t) >= wording.InSeconds {
		return units.SI(units.Time)
	}
	ms, _ := units.Lookup("ms", units.Time)
	return ms
}

// clockText writes a frame's instant.
func (k *marking) clockText(t float64) string { return k.cadence.clockWords(t)[0] }

// readingsAt are the lines under the clock at a frame: what the state estimate says of speed and
// acceleration there.
func (k *marking) readingsAt(i int) []string {
	speed, pull := !k.o.hides("speed"), !k.o.hides("acceleration")
	if !speed && !pull {
		return nil
	}
	out := make([]string, 0, 2)
	say := func(s string) []string {
		out = append(out, s)
		if speed && pull {
			out = append(out, "")
		}
		return out
	}
	t := k.one.times[i]
	switch {
	case !k.moves:
		return []string{"speed: cannot say"}
	case k.timed && t <= 0:
		return say("at rest")
	case !k.knows(t) && t < k.one.gone:
		return say("not seen yet")
	case !k.knows(t):
		return say("out of view")
	}
	s := k.one.state(t)
	if speed {
		out = append(out, steadyWords(k.read.Speed(), s.Speed, s.USpeed, k.usual.USpeed))
	}
	if pull {
		u := k.read.UnitOf(metrology.Answer{Unit: "m/s2", Value: new(float64)})
		out = append(out, nice(steadyWords(u, s.Acceleration, s.UAcceleration, k.usual.UAcceleration)))
	}
	return out
}

// nice writes units as they are printed.
func nice(s string) string { return strings.ReplaceAll(s, "m/s2", "m/s²") }

// knows says whether the motion was estimated at a time after first motion.
func (k *marking) knows(t float64) bool {
	h, zero := k.one.motion, *k.one.zero.Value
	slack := k.one.step() / 2
	return len(h) > 0 && t+zero <= h[len(h)-1].T+slack && (k.timed || t+zero >= h[0].T-slack)
}

// widest finds the widest clock and readings that the clip will show.
func (k *marking) widest() (clock string, readings []string) {
	longer := func(a, b string) string {
		if utf8.RuneCountInString(b) > utf8.RuneCountInString(a) {
			return b
		}
		return a
	}
	for _, r := range k.runs {
		if k.timed && !k.o.hides("clock") {
			clock = longer(clock, k.clockText(k.one.times[r.frame]))
		}
		for i, s := range k.readingsAt(r.frame) {
			if i == len(readings) {
				readings = append(readings, "")
			}
			readings[i] = longer(readings[i], s)
		}
	}
	return clock, readings
}
