package motion

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"padside/fault"
)

// slip is a hypothesis about the clock of footage whose stamps go on evenly whatever the camera
// did: before observation at, lost frame intervals passed of which no picture was stored, so that
// its time and all later ones are later by so much. From at on, stale observations repeat the
// picture before. lost is negative if repeated pictures were put in between others; stale is 0 then
// if they are not among the observations.
type slip struct{ at, lost, stale int }

// kinds are what may happen at one frame, with the share of all slips that each has: a lost frame
// and several of them; a picture stored again in place of a lost one, or twice; one or two put in
// (common practice, no source: single losses are most frequent).
var kinds = [...]struct {
	slip
	share float64
}{
	{slip{lost: 1}, 0.4}, {slip{lost: 2}, 0.1}, {slip{lost: 3}, 0.05},
	{slip{stale: 1}, 0.25}, {slip{stale: 2}, 0.05}, {slip{lost: -1, stale: 1}, 0.1}, {slip{lost: -2, stale: 2}, 0.05},
}

// gapOdds is how much more probable a slip of the kinds that put pictures in is where frames are
// missing between two observations: the trace often leaves a picture out that does not move on, and
// seldom another (common practice, no source).
const gapOdds = 10.0

// slipsAt lists what may happen before an observation. Where frames are missing before it, they may
// be pictures put in: what comes after is early by them, and no observation repeats another.
func slipsAt(obs []Observation, at int) []slip {
	var out []slip
	for _, k := range kinds {
		if at+k.stale <= len(obs) {
			out = append(out, slip{at, k.lost, k.stale})
		}
		if k.lost < 0 && obs[at].Frame-obs[at-1].Frame > -k.lost {
			out = append(out, slip{at: at, lost: k.lost})
		}
	}
	return out
}

// logShare is ln of the share of all slips that a slip's kind has.
func (s slip) logShare() float64 {
	for _, k := range kinds {
		if k.lost == s.lost && (k.stale == s.stale || s.putIn()) {
			if s.putIn() {
				return math.Log(gapOdds * k.share)
			}
			return math.Log(k.share)
		}
	}
	return math.Inf(-1)
}

// putIn says whether it is of pictures put in that are not among the observations.
func (s slip) putIn() bool { return s.lost < 0 && s.stale == 0 }

// repeatStep is the time, as a share of the frame interval, that a repeated picture is taken to come after
// the one it repeats: times must rise.
const repeatStep = 1e-4

// anchorShare is the share of the way in view at which times agree with the stamps. What a slip does
// to times has no origin: it is seen where the vehicle is fast, and hardly when it begins to move.
const anchorShare = 0.1

// anchored is the first observation at which the vehicle has gone anchorShare of its way.
func anchored(obs []Observation) int {
	first, way := obs[0].H, obs[len(obs)-1].H-obs[0].H
	return max(0, slices.IndexFunc(obs, func(o Observation) bool { return (o.H-first)/way >= anchorShare }))
}

// earnestShare is the share of the way in view up to which a vehicle may have trembled, swayed or crept:
// there a slip would explain what is no motion.
const earnestShare = 0.01

// inEarnest is the first observation from which on the vehicle has gone earnestShare of its way.
func inEarnest(obs []Observation) int {
	first, way := obs[0].H, obs[len(obs)-1].H-obs[0].H
	for i := len(obs) - 1; i >= 0; i-- {
		if (obs[i].H-first)/way < earnestShare {
			return i + 1
		}
	}
	return 0
}

// slipped returns the observations by the clock that the slips say, which agrees with the stamps at
// observation anchor. interval is the frame interval, s.
func slipped(obs []Observation, slips []slip, anchor int, interval float64) []Observation {
	out := slices.Clone(obs)
	for i := range out {
		for _, s := range slips {
			if s.at <= anchor {
				out[i].T -= float64(s.lost) * interval
			}
		}
	}
	for _, s := range slips {
		for i := s.at; i < len(out); i++ {
			out[i].T += float64(s.lost) * interval
		}
		for i := s.at; i < min(s.at+s.stale, len(out)); i++ {
			out[i].T = out[s.at-1].T + float64(i-s.at+1)*repeatStep*interval
		}
	}
	return out
}

// Prior of slips: one clip in ten (one in fifty at 500 frames a second and more) comes from a
// camera that loses or repeats frames, between one in 400 and one in 10, evenly in the logarithm;
// all others lose none (common practice, no source).
const (
	lossyClips     = 0.1
	lossyFastClips = 0.02
	lossyLeast     = 1.0 / 400
	lossyMost      = 1.0 / 10
	fastInterval   = 1.0 / 500 // s
	mostSlips      = 12
	// Of clocks that the plainest motion makes less probable by this (ln), or that are no longer among the first
	// keptClocks, the motion is not worked out; of few frames, on which one clock and another structure of the motion say
	// much the same, of more.
	hopelessClock = 6.0
	keptClocks    = 4
	keptOfFew     = 8
	fewMoving     = 12
)

// clock is one hypothesis about the times of all observations, and what speaks for it.
type clock struct {
	slips []slip
	gain  float64 // ln of its probability against the stamps taken as they are, with its prior, by the plainest motion
	prior float64 // ln of the prior probability against that of no slips
	obs   []Observation

	// Of stamps that are not steady: by how much they stray, s, which share of it the times leave
	// out, and by what all times may be off.
	stray, share float64
	even         evenClock
}

// clocks searches for the slips that make the motion most probable.
type clocks struct {
	in       *Input
	effort   effort
	plain    float64 // ln of the evidence of the stamps as they are
	unit     float64
	interval float64
	anchor   int     // observation at which times agree with the stamps
	lossy    float64 // prior probability that the camera loses frames
}

// newClocks returns nil where the observations' times cannot slip.
func newClocks(in *Input, s *series, e effort) *clocks {
	if in.Interval <= 0 || len(in.Observations)-s.move < fewestMoving+1 {
		return nil
	}
	c := &clocks{in: in, effort: e, interval: in.Interval, lossy: lossyClips, anchor: anchored(in.Observations)}
	if in.Interval <= fastInterval {
		c.lossy = lossyFastClips
	}
	c.plain, c.unit = firstGuess(s, e, nil).bump.value, s.unitH
	return c
}

// evidence is how probable the motion is by a clock, against the stamps as they are (ln), without the
// clock's prior.
func (c *clocks) evidence(slips []slip) (float64, []Observation) {
	obs := slipped(c.in.Observations, slips, c.anchor, c.interval)
	s := newSeries(obs, c.in)
	if s == nil || len(obs)-s.move < fewestMoving {
		return math.Inf(-1), obs
	}
	perFrame := math.Log(c.unit / s.unitH)
	return firstGuess(s, c.effort, nil).bump.value - c.plain + float64(len(obs))*perFrame, obs
}

// prior is ln of the prior probability of exactly these slips against that of none.
func (c *clocks) prior(slips []slip) float64 {
	if len(slips) == 0 {
		return 0
	}
	steps := len(c.in.Observations)
	l := math.Log(c.lossy) + logLosses(len(slips), steps) - math.Log(1-c.lossy+c.lossy*math.Exp(logLosses(0, steps)))
	for _, s := range slips {
		l += s.logShare()
	}
	return l
}

// logLosses is ln of the probability density that a camera that loses frames lost n at certain ones
// of steps, by a Poisson process of unknown rate: the mean of r^n exp(-r steps).
func logLosses(n, steps int) float64 {
	const nodes = 40
	var sum logSum
	for i := range nodes {
		x := (float64(i) + 0.5) / nodes
		r := math.Log(lossyLeast) + x*math.Log(lossyMost/lossyLeast)
		sum.add(float64(n)*r - math.Exp(r)*float64(steps))
	}
	return sum.value() - math.Log(nodes)
}

// clock weighs one set of slips.
func (c *clocks) clock(slips []slip) clock {
	e, obs := c.evidence(slips)
	prior := c.prior(slips)
	return clock{slips: slips, gain: e + prior, prior: prior, obs: obs}
}

// slipWarning names the slips of the most probable clock.
func (k *clock) slipWarning() []fault.Warning {
	if len(k.slips) == 0 {
		return nil
	}
	var names []string
	for _, s := range k.slips {
		names = append(names, s.named(k.obs))
	}
	return []fault.Warning{{Code: "frames-lost", Message: fmt.Sprintf(
		"the motion shows that the time stamps are not those of the pictures: %s; times were corrected by it, and the answers carry what that leaves open",
		strings.Join(names, "; "))}}
}

func (s slip) named(obs []Observation) string {
	frame := obs[s.at].Frame
	plural := func(n int, one, many string) string {
		if n == 1 {
			return one
		}
		return fmt.Sprintf("%d %s", n, many)
	}
	switch {
	case s.lost > 0:
		return fmt.Sprintf("%s missing before frame %d", plural(s.lost, "a frame is", "frames are"), frame)
	case s.putIn():
		frame -= -s.lost
		fallthrough
	case s.lost < 0:
		return fmt.Sprintf("frame %d repeats the one before, and later ones come too late by %s", frame, plural(-s.lost, "an interval", "intervals"))
	}
	return fmt.Sprintf("frame %d repeats the one before", frame)
}
