package pairs

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"padside/fault"
	"padside/fit"
	"padside/metrology"
	"padside/motion"
)

const (
	// falseAlarm is the probability, by Bonferroni over all that is compared, at which pairs contradict a fitted motion.
	falseAlarm = 1e-4
	// mostPlaces is how many places are paired, evenly picked of more.
	mostPlaces = 150
	// guardDraws is how many joint draws of motion and truth a pair is held against.
	guardDraws = 256
	// A trace may hold so many places astray of which the motion is right to take no notice, of so many moving; of fewer none is set aside there either.
	astrayShare = 0.1
	fewestStray = 12
)

// Guard withholds, in res, what a fitted motion says against its own places, with the reason, and says so in a warning. It is a second line: the motion should
// not have come to that.
//
//   - Over any stretch some instant is at least as fast as its mean (the mean value theorem): a peak speed below the mean speed between two places is none, and then
//     nothing that the fit says of this flight stands.
//   - A peak speed far above what neighbouring places allow is none either (peakAllowed).
//   - What is let go gains speed as gravity makes it (mostFall, leastFall): else nothing stands either. A peak acceleration a little above gravity is
//     not given, and the rest stands (evenFall).
//   - A peak acceleration is held against the change of the mean speeds over every stretch of its length (pullAllowed).
func Guard(in Input, res *motion.Result) []fault.Warning {
	g := &guard{survey: newSurvey(in)}
	if len(in.Places) < 2 {
		return nil
	}
	if i := g.measured(res, motion.PeakSpeed); i >= 0 {
		reason := g.slower(res.Draws[i])
		if reason == "" {
			reason = g.faster(res.Draws[i])
		}
		if reason != "" {
			withholdFitted(res, reason)
			return warned(reason)
		}
	}
	if i := g.measured(res, motion.PeakAcceleration); i >= 0 {
		begins := g.measured(res, motion.FirstMotion) >= 0
		if reason := g.outfalls(res.Answers[i], begins); reason != "" {
			withholdFitted(res, reason)
			return warned(reason)
		}
		if reason := g.overfalls(res.Answers[i]); reason != "" {
			withhold(res, i, reason)
			return warned(reason)
		}
		if reason := g.pulled(*res.Answers[i].Window, res.Draws[i]); reason != "" {
			withhold(res, i, reason)
			return warned(reason)
		}
	}
	return nil
}

func warned(reason string) []fault.Warning {
	return []fault.Warning{{Code: "motion-against-places",
		Message: reason + ": what rests on it is not given; look at the trace, and let the footage begin and end with the flight (from, to)"}}
}

// withhold takes an answer back.
func withhold(res *motion.Result, i int, reason string) {
	res.Answers[i] = metrology.WithoutValue(res.Answers[i], metrology.Insufficient, reason)
	res.Draws[i] = nil
}

// withholdFitted takes all answers of the fitted motion back. The drop check has a fit of its own.
func withholdFitted(res *motion.Result, reason string) {
	for i, a := range res.Answers {
		if a.Status != metrology.Insufficient && a.ID != motion.FreeFallAcceleration {
			withhold(res, i, reason)
		}
	}
	res.History = nil
}

// figure writes a number for a reason.
func figure(v float64) string {
	if v >= 1000 && v < 1e7 {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.3g", v)
}

// guard holds a fitted motion against pairs of places.
type guard struct{ *survey }

// measured is the index of an answer that has a value, -1 for none.
func (g *guard) measured(res *motion.Result, id string) int {
	return slices.IndexFunc(res.Answers, func(a metrology.Answer) bool { return a.ID == id && a.Status == metrology.Measured })
}

// beyond is the number of standard deviations that one of n comparisons exceeds by chance with probability falseAlarm.
func beyond(n int) float64 {
	return metrology.CoverageFactor(1-2*falseAlarm/float64(max(n, 1)), math.Inf(1))
}

// pair is two places, and by how many standard uncertainties their mean speed exceeds the peak.
type pair struct {
	i, j  int
	by    float64
	speed float64 // m/s
}

// slower says why a peak speed, draw by draw, is too low for the places.
func (g *guard) slower(peak []float64) string {
	idx := g.picked()
	z := beyond(len(idx) * (len(idx) - 1) / 2)
	var over []pair
	middle := fit.Median(peak)
	heights, times := g.nominal(idx)
	for a := range idx {
		for b := a + 1; b < len(idx); b++ {
			i, j := idx[a], idx[b]
			v, u := (g.Places[j].H-g.Places[i].H)/(g.Places[j].T-g.Places[i].T), g.ownU(i, j)
			if v-z*u <= middle {
				continue // the joint uncertainty is no smaller
			}
			d := make([]float64, len(heights))
			for k := range d {
				d[k] = (heights[k][b]-heights[k][a])/(times[k][b]-times[k][a]) - peak[k]
			}
			mean, variance := metrology.Variance(d)
			if by := mean / math.Sqrt(variance+u*u); by > z {
				over = append(over, pair{i, j, by, v})
			}
		}
	}
	worst, ok := g.beyondStrays(over, idx)
	if !ok {
		return ""
	}
	return fmt.Sprintf("the places contradict the fitted motion: from frame %d to frame %d the vehicle makes %s m/s on average, and the fit is never faster than %s m/s",
		g.Places[worst.i].Frame, g.Places[worst.j].Frame, figure(worst.speed), figure(middle))
}

// picked are up to mostPlaces of the places, evenly spread.
func (g *guard) picked() []int {
	n := len(g.Places)
	step := (n + mostPlaces - 1) / mostPlaces
	var out []int
	for i := 0; i < n; i += step {
		out = append(out, i)
	}
	return out
}

// nominal are the heights and times of the places idx under the truths that the first draws of the motion were under.
func (g *guard) nominal(idx []int) (heights, times [][]float64) {
	for k := range guardDraws {
		truth := g.Motion.Truth(k, "")
		var h, t []float64
		for _, i := range idx {
			h, t = append(h, truth.Height(g.Places[i].H)), append(t, truth.Instant(&g.Places[i]))
		}
		heights, times = append(heights, h), append(times, t)
	}
	return heights, times
}

// strays is how many of n places may be astray.
func (g *guard) strays(n int) int {
	if len(g.Places)-g.moving < fewestStray {
		return 0
	}
	return int(math.Ceil(astrayShare * float64(n)))
}

// beyondStrays leaves out the place that takes part in most of the pairs, one after the other, as many as may be astray, and returns the worst of the pairs that are
// left.
func (g *guard) beyondStrays(over []pair, idx []int) (pair, bool) {
	for strays := g.strays(len(idx)); strays > 0 && len(over) > 0; strays-- {
		count := map[int]int{}
		most := -1
		for _, p := range over {
			for _, i := range [...]int{p.i, p.j} {
				count[i]++
				if most < 0 || count[i] > count[most] || count[i] == count[most] && i < most {
					most = i
				}
			}
		}
		over = slices.DeleteFunc(over, func(p pair) bool { return p.i == most || p.j == most })
	}
	if len(over) == 0 {
		return pair{}, false
	}
	return slices.MaxFunc(over, func(a, b pair) int { return cmp.Compare(a.by, b.by) }), true
}

// peakAllowed: between places a vehicle may be faster than their mean speed by as much as its speed changes from one stretch to the next, times this. An even
// acceleration to the end of the footage needs 1/2, one that grows with the square of the time 2/3 (derived).
const peakAllowed = 2

// faster says why a peak speed, draw by draw, is too high for the places.
func (g *guard) faster(peak []float64) string {
	n := len(g.Places)
	stride := max(1, n/mostPlaces)
	var top, change, u float64
	at, before := 0, math.NaN()
	for i := 0; i+stride < n; i += stride {
		v := (g.Places[i+stride].H - g.Places[i].H) / (g.Places[i+stride].T - g.Places[i].T)
		if v > top {
			top, at = v, i
		}
		u = math.Max(u, g.ownU(i, i+stride))
		if !math.IsNaN(before) {
			change = math.Max(change, math.Abs(v-before))
		}
		before = v
	}
	allowed := top + peakAllowed*math.Max(change, top/float64(n)) + beyond(n)*u
	middle, sd := g.unwarped(peak, 1)
	if middle-beyond(1)*sd <= allowed {
		return ""
	}
	return fmt.Sprintf("the places contradict the fitted motion: between neighbours the vehicle makes %s m/s at most (frames %d to %d), and the fit reaches %s m/s",
		figure(top), g.Places[at].Frame, g.Places[min(at+stride, n-1)].Frame, figure(middle))
}

// unwarped is the median and the standard deviation of draws of a quantity that goes with 1/time^power, what all frames share taken out as far as it is one
// factor: the scale at the farthest place.
func (g *guard) unwarped(draws []float64, power float64) (middle, sd float64) {
	far := slices.MaxFunc(g.Places, func(a, b motion.Observation) int { return cmp.Compare(math.Abs(a.H), math.Abs(b.H)) })
	own := make([]float64, guardDraws)
	for k := range own {
		truth := g.Motion.Truth(k, "")
		clock := (truth.Instant(&far) - truth.Instant(&g.Places[0])) / (far.T - g.Places[0].T)
		if own[k] = draws[k]; far.H != 0 && far.T > g.Places[0].T {
			own[k] *= far.H / truth.Height(far.H) * math.Pow(clock, power)
		}
	}
	return fit.Median(draws), metrology.SD(own)
}
