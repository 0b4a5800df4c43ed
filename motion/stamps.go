package motion

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"padside/fault"
)

// Stamps that are not evenly spaced are either the instants at which the camera took its pictures,
// or those at which it got round to storing pictures that it took evenly. The motion tells which: times are
// stamps + share (even - stamps), each with an uncertainty of its own of jitter times the rms of their difference.
var stampModels = [...]struct{ share, jitter float64 }{
	{0, 0}, {0, 0.25}, {0.5, 0.5}, {1, 0.25}, {1, 0}, {0, 1},
}

// evenTimes is what warns that stamps were not taken as they are.
const evenTimes = "uneven-stamps"

// leastUneven is the difference between stamps and even times, as a share of the frame interval, below
// which it does not matter.
const leastUneven = 0.002

// astray is the root mean square of the difference between stamps and even times, s.
func astray(obs []Observation) float64 {
	var sum, n float64
	for _, o := range obs {
		if o.Even != nil {
			d := *o.Even - o.T
			sum, n = sum+d*d, n+1
		}
	}
	return math.Sqrt(sum / math.Max(n, 1))
}

// timed returns the observations by one model of their stamps.
func timed(obs []Observation, share, u float64) []Observation {
	out := slices.Clone(obs)
	for i := range out {
		o := &out[i]
		if o.Even != nil {
			o.T += share * (*o.Even - o.T)
			o.UT = math.Hypot(o.UT, u)
		}
	}
	return out
}

// judgeStamps sets the times of in by the model of its uneven stamps that makes the motion most probable.
func judgeStamps(in *Input, e effort) []fault.Warning {
	obs := in.Observations
	rms := astray(obs)
	if rms == 0 || rms < leastUneven*(obs[len(obs)-1].T-obs[0].T)/float64(len(obs)) {
		return nil
	}
	best, top := obs, math.Inf(-1)
	var chosen float64
	for _, m := range stampModels {
		try := timed(obs, m.share, m.jitter*rms)
		if !slices.IsSortedFunc(try, func(a, b Observation) int {
			if a.T < b.T {
				return -1
			}
			return 1
		}) {
			continue
		}
		s := newSeries(timesFolded(try), in)
		if s == nil || len(try)-s.move < fewestMoving {
			continue
		}
		if v := firstGuess(s, e, nil).bump.value - float64(len(obs))*math.Log(s.unitH); v > top {
			best, top, chosen = try, v, m.share
		}
	}
	in.Observations = best
	if chosen == 0 {
		return nil
	}
	in.even = newEvenClock(obs, chosen*rms)
	return []fault.Warning{{Code: evenTimes, Message: fmt.Sprintf(
		"the time stamps stray by %.2g ms from even ones, and the motion is smoother by even times: the stamps are not the instants of the pictures; times were taken between the two as the motion tells", 1e3*rms)}}
}

// smoothFrames is how many frames a line is drawn through where the rate drifts.
const smoothFrames = 21

// evenClock is what even times, a line through n stamps that stray by rms, are uncertain by: the line's
// height in its middle, rms/sqrt(n), n of a drifting rate, and its slope, rms sqrt(12)/n^(3/2) of a frame interval (least squares; the
// ends count both).
type evenClock struct {
	offset float64 // s
	rate   float64 // relative
	middle float64 // s
}

func newEvenClock(obs []Observation, rms float64) evenClock {
	n, first, last := float64(len(obs)), obs[0].T, obs[len(obs)-1].T
	return evenClock{rms / math.Sqrt(min(n, smoothFrames)), rms * math.Sqrt(12/n) / (last - first), (first + last) / 2}
}

// draw puts one possible error of the clock into a truth.
func (e evenClock) draw(t *truth, r *rand.Rand) {
	if e.offset == 0 {
		return
	}
	offset, rate := e.offset*r.NormFloat64(), e.rate*r.NormFloat64()
	t.delay.T0 += offset - rate*e.middle
	t.clock *= 1 + rate
}
