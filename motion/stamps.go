package motion

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"padside/fault"
)

// Stamps that are not steady stray for two reasons: the camera took its pictures so, or it got
// round late to storing pictures that it took steadily. Of what a stamp strays by, rms j, the first
// is normal with variance (1 - w) j^2 and the second with w j^2, each picture's own. So the picture
// was taken at
//
//	stamp + w (steady - stamp),  with a standard uncertainty of its own of sqrt(w (1 - w)) j
//
// (conditional mean and variance of the normal distribution). The stamps say what j is, the motion
// what w is: these are its values, with their probabilities beforehand. At either end lie clocks
// that are one thing alone; between, odds of one to the other are about evenly spaced in the
// logarithm (common practice, no source).
var strayShares = [...]struct{ w, p float64 }{
	{0, 0.35}, {0.01, 0.05}, {0.04, 0.05}, {0.12, 0.05}, {0.3, 0.05}, {0.55, 0.05}, {0.8, 0.05}, {0.93, 0.05}, {0.98, 0.05}, {1, 0.25},
}

// evenTimes is what warns that stamps were not taken as they are.
const evenTimes = "uneven-stamps"

// leastUneven is the difference between stamps and steady times, as a share of the frame interval,
// below which it does not matter.
const leastUneven = 0.002

// astray is the root mean square of the difference between stamps and steady times, s.
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

// timed returns the observations by the share w of what their stamps stray by, j (s).
func timed(obs []Observation, w, j float64) []Observation {
	out := slices.Clone(obs)
	for i := range out {
		o := &out[i]
		if o.Even != nil {
			o.T += w * (*o.Even - o.T)
			o.UT = math.Sqrt(w*(1-w)) * j
		}
	}
	return out
}

// stampClocks lists the clocks that uneven stamps may stand for, the most probable by the plainest
// motion first, without those that are hopeless; nil where the stamps are taken as they are.
func stampClocks(in *Input, e effort) []clock {
	obs := in.Observations
	j := astray(obs)
	if j == 0 || j < leastUneven*(obs[len(obs)-1].T-obs[0].T)/float64(len(obs)) {
		return nil
	}
	least := leastStray(obs, j)
	var list []clock
	for _, m := range strayShares {
		k := clock{stray: j, share: least + (1-least)*m.w, prior: math.Log(m.p)}
		k.obs = timesFolded(timed(obs, k.share, j))
		s := newSeries(k.obs, in)
		if s == nil || len(obs)-s.move < fewestMoving {
			continue
		}
		k.even = newEvenClock(k.obs, s.move, j, k.share)
		k.gain = k.prior + firstGuess(s, e, nil).bump.value - float64(len(obs))*math.Log(s.unitH)
		list = append(list, k)
	}
	if len(list) == 0 {
		return nil
	}
	return probable(list[0], list[1:], keptClocks)
}

// stamped takes the first n observations, sets the clocks that their stamps may stand for, and
// returns them by the most probable.
func (in *Input) stamped(n int) []Observation {
	in.Observations = in.given[:n]
	if in.byStamps = stampClocks(in, effortFor(n)); in.byStamps == nil {
		return timesFolded(in.Observations)
	}
	in.even = in.byStamps[0].even
	return in.byStamps[0].obs
}

// levelledBy gives the heights of observations to the clocks.
func levelledBy(list []clock, obs []Observation) {
	for _, k := range list {
		for i := range k.obs {
			k.obs[i].H = obs[i].H
		}
	}
}

// leastStray is the share of what stamps stray by that their rounding alone is.
func leastStray(obs []Observation, j float64) float64 {
	var sum float64
	for _, o := range obs {
		sum += o.UT * o.UT
	}
	return math.Min(1, sum/float64(len(obs))/(j*j))
}

// stampWarning says that times are not those of the stamps.
func (k *clock) stampWarning() []fault.Warning {
	if k.share == 0 {
		return nil
	}
	return []fault.Warning{{Code: evenTimes, Message: fmt.Sprintf(
		"the time stamps stray from a steady rate by %.2g ms, and the motion is smoother by steadier times: the stamps are not the instants of the pictures; times were taken between the two as the motion tells", 1e3*k.stray)}}
}

// evenClock is what steady times are uncertain by together over the frames that show the vehicle
// moving.
type evenClock struct {
	offset float64 // s
	rate   float64 // relative
	middle float64 // s, where the two are independent
}

// newEvenClock takes it from the uncertainty u that neighbours share: the steady times about each
// frame are worth a line through n = (j/u)^2 stamps, whose height in its middle is uncertain by
// j/sqrt(n), and whose slope by j sqrt(12)/n^(3/2) of a frame interval (least squares). The motion
// is smooth over a third of the flight at least, and averages over so many frames.
func newEvenClock(obs []Observation, move int, j, w float64) evenClock {
	var uu, n float64
	for _, o := range obs {
		if o.Even != nil {
			uu, n = uu+o.EvenU*o.EvenU, n+1
		}
	}
	u, worth := math.Sqrt(uu/n), n
	if u > 0 {
		worth = math.Min(n, math.Max(j*j/(u*u), float64(len(obs)-move)/3))
	}
	first, last := obs[max(move-1, 0)].T, obs[len(obs)-1].T
	step := (last - obs[0].T) / float64(len(obs)-1)
	return evenClock{w * j / math.Sqrt(worth), w * j * math.Sqrt(12/worth) / (worth * step), (first + last) / 2}
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
