package motion

import (
	"fmt"
	"math"
	"math/rand/v2"

	"padside/fault"
	"padside/noise"
)

// freeFlights returns the frames that show free flight, nil where they are too few, and says what was left out.
func (in *Input) freeFlights(all []Observation) ([]freeFlight, []fault.Warning) {
	flights, cut := flightsOf(all)
	var warn []fault.Warning
	if cut > 0 {
		warn = append(warn, fault.Warning{Code: "landing-left-out", Message: fmt.Sprintf(
			"the fall ends before the last frame: %d frames from the landing on are not used for the free-fall acceleration", cut)})
	}
	for i := range flights {
		flights[i] = thinnedFlight(flights[i])
		if flights[i] = withoutOutliers(flights[i]); flights[i] != nil {
			continue
		}
		if i == 0 {
			return nil, warn
		}
		flights = flights[:i]
	}
	return flights, warn
}

// mostFlying is up to how many frames of a flight are taken singly: more are averaged in groups.
const mostFlying = 160

// thinnedFlight averages neighbouring frames where there are more than mostFlying. Over a group of duration T the mean of the heights
// lies a T^2/24 beyond the height at the mean time, by the same throughout: that is taken up by the height the flight starts at.
func thinnedFlight(f freeFlight) freeFlight {
	group := (len(f) + mostFlying - 1) / mostFlying
	if group <= 1 {
		return f
	}
	var out freeFlight
	for i := 0; i+group <= len(f); i += group {
		o := f[i]
		o.T, o.H, o.U, o.DoubtU = 0, 0, 0, 0
		for _, q := range f[i : i+group] {
			o.T += q.T / float64(group)
			o.H += q.H / float64(group)
			o.DoubtU += q.DoubtU / float64(group) // they have it together
			o.U += q.U * q.U
		}
		o.U = math.Sqrt(o.U) / float64(group)
		out = append(out, o)
	}
	return out
}

// A frame this many times the scatter of the others off the best flight is left out; at most
// outlierShare of them are.
const fallOutlierAt = 5.0

// withoutOutliers leaves frames out that lie far off the best flight under gravity and some drag; nil where they are too few.
func withoutOutliers(f freeFlight) freeFlight {
	for limit := int(outlierShare * float64(len(f))); ; limit-- {
		if len(f) < fewestFlying {
			return nil
		}
		d := dropFit{flights: []freeFlight{f}, shared: &shared{top: 1}}
		p, ok := d.at(dropDrag, fallWhitener(d.flights, noise.Hypothesis{}), 0)
		if !ok {
			return nil
		}
		if limit <= 0 {
			return f
		}
		off := make([]float64, len(f))
		worst := 0
		for i, o := range f {
			off[i] = math.Abs(o.H-p.start[0].at(o.T)) / o.U
			if off[i] > off[worst] {
				worst = i
			}
		}
		const perSD = 0.6745 // median of the size of a standard normal number
		if off[worst] < fallOutlierAt*math.Max(median(off)/perSD, 0.5) {
			return f
		}
		f = append(append(freeFlight(nil), f[:worst]...), f[worst+1:]...)
	}
}

// way is how far the first flight goes, m.
func (d *dropFit) way() float64 {
	f := d.flights[0]
	return math.Abs(f[len(f)-1].H - f[0].H)
}

// chiSquared draws a chi-squared number.
func chiSquared(r *rand.Rand, dof int) (sum float64) {
	for range dof {
		z := r.NormFloat64()
		sum += z * z
	}
	return sum
}
