package desk

import (
	"fmt"
	"math"

	"padside/fault"
	"padside/metrology"
	"padside/wording"
)

// cadence is how a race runs: which instants are shown. Instants are s after first motion.
type cadence struct {
	from, to float64
	slow     float64 // times slower than life
	frames   int     // that move, the first at from
	still    int     // more that stand at the end
	held     bool    // each launch shows its latest frame not after the instant, not the nearest one
}

const (
	raceRate   = 30     // Hz, of playback
	raceLasts  = 8.0    // s, of playback, where nothing else is asked for
	raceStands = 1.5    // s, at the end
	raceLead   = 0.12   // of the race, shown before first motion
	mostFrames = 36_000 // 20 minutes
	// likeRates is how far the frame intervals of launches may differ for the nearest frame to be fair to all.
	likeRates = 1.5
)

// at is the instant of frame k.
func (c *cadence) at(k int) float64 {
	return c.from + float64(min(k, c.frames-1))/(c.slow*raceRate)
}

// step is the time between two frames, s after first motion.
func (c *cadence) step() float64 { return 1 / (c.slow * raceRate) }

// pace decides when the race begins and ends and how slowly it runs. It ends with the last at the finish; a launch that does not reach
// it is waited for as long as it is in view, but no longer than twice the time of the last that does.
//
// Launches filmed at like rates show the frame centred nearest to each instant: at most half a frame interval off. Where rates
// differ, the nearest frame of the slower camera could lie far in the future; then each shows its latest frame that is centred
// not after the instant.
func (r *contest) pace() error {
	last, waiting := 0.0, 0.0
	shortest, longest := math.Inf(1), 0.0
	for i := range r.runners {
		one := &r.runners[i]
		if one.time.Value != nil {
			last = max(last, *one.time.Value)
		} else {
			waiting = max(waiting, one.gone)
		}
		if s := one.step(); s > 0 {
			shortest, longest = min(shortest, s), max(longest, s)
		}
	}
	if last > 0 {
		waiting = min(waiting, 2*last)
	}
	c := &r.cadence
	c.to = max(last, waiting)
	if !(c.to > 0) {
		return fault.NoAnswerf("look at their traces", "no launch is seen after its first motion: there is nothing to race")
	}
	c.from, c.held = -raceLead*c.to, longest > likeRates*shortest
	c.slow = r.o.Slow
	if c.slow == 0 {
		c.slow = max(1, roundBelow(raceLasts/(c.to-c.from)))
	}
	n := math.Ceil((c.to - c.from) * c.slow * raceRate)
	if n > mostFrames {
		return fault.Requestf(fmt.Sprintf("race to a lower --finish, or slow it by %.3g at most", mostFrames/((c.to-c.from)*raceRate)),
			"slowed by %g the race of %.3g s would have %.0f frames; %d are the most", c.slow, c.to-c.from, n, mostFrames)
	}
	c.frames, c.still = int(n)+1, int(raceStands*raceRate)
	return nil
}

// clockWords writes an instant in ms and in s, the one that suits the race's length first. The places are those of the step from
// frame to frame, and whole ms at least.
func (c *cadence) clockWords(t float64) [2]string {
	place := min(-3, int(math.Floor(math.Log10(c.step()))))
	s := metrology.Round(t, place) + " s"
	ms := metrology.Round(1e3*t, place+3) + " ms"
	if c.to >= wording.InSeconds {
		return [2]string{s, "= " + ms}
	}
	return [2]string{ms, "= " + s}
}
