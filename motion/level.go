package motion

import (
	"fmt"
	"math"

	"padside/fault"
)

// A vehicle may seem to step before it moves: the light of the ignition changes its picture, or somebody touches it. Taken for motion
// that is a launch read far too early. So a step of the level at rest is supposed where the level of levelFrames frames
// leaves that of the frames before by levelOff standard uncertainties, and believed where the motion becomes more
// probable by it, against its own odds: one launch in twenty has one, at any of its frames, of a size of about levelSize times what the
// frames at rest share.
const (
	levelFrames = 5
	levelOff    = 2.0
	levelOdds   = 0.05
	levelSize   = 15.0
	levelGain   = 2.0 // ln, at least
)

// levelStep is a step of the level at rest at an observation, by size m of standard uncertainty u.
type levelStep struct {
	at      int
	size, u float64
}

// off is its size in standard uncertainties.
func (l levelStep) off() float64 { return math.Abs(l.size) / l.u }

// meanOf returns the weighted mean height of observations, and its precision.
func meanOf(obs []Observation) (mean, w float64) {
	var sum float64
	for _, o := range obs {
		p := 1 / (o.U * o.U)
		w, sum = w+p, sum+p*o.H
	}
	return sum / w, w
}

// extent is by how much observations differ at most.
func extent(obs []Observation) float64 {
	lo, hi := obs[0].H, obs[0].H
	for _, o := range obs {
		lo, hi = math.Min(lo, o.H), math.Max(hi, o.H)
	}
	return hi - lo
}

// largestStep returns the step of the level that stands out most, and from which neither all frames before nor the levelFrames after
// differ among themselves by half of it.
func largestStep(obs []Observation) (best levelStep) {
	for i := levelFrames; i+levelFrames <= len(obs); i++ {
		before, after := obs[:i], obs[i:i+levelFrames]
		a, wa := meanOf(before)
		b, wb := meanOf(after)
		s := levelStep{i, b - a, math.Sqrt(1/wa + 1/wb)}
		if s.off() < levelOff || best.at > 0 && s.off() < best.off() {
			continue
		}
		if half := math.Abs(s.size) / 2; extent(after) < half && extent(before) < half {
			best = s
		}
	}
	return best
}

// levelled takes a step of the level at rest out of the observations, where one is more probable than motion, and says so.
func levelled(in *Input, s *series, e effort) []fault.Warning {
	obs := in.Observations
	step := largestStep(obs)
	if step.at == 0 {
		return nil
	}
	even := append([]Observation(nil), obs...)
	for i := range step.at {
		even[i].H += step.size
	}
	other := newSeries(even, in)
	if other == nil || len(obs)-other.move < fewestMoving {
		return nil
	}
	size := levelSize * in.RestU
	if size == 0 {
		size = levelSize * medianU(obs)
	}
	gain := firstGuess(other, e, nil).bump.value - firstGuess(s, e, nil).bump.value
	gain += math.Log(step.u/size) - 0.5*math.Pow(step.size/size, 2) + math.Log(levelOdds/float64(len(obs)))
	if gain < levelGain {
		return nil
	}
	in.Observations = even
	return []fault.Warning{{Code: "steps-at-rest", Message: fmt.Sprintf(
		"the vehicle steps by %.2g mm in frame %d and stays there before it moves: taken for a change of its picture (the light of the ignition, somebody touching it), not for motion",
		1e3*step.size, obs[step.at].Frame)}}
}
