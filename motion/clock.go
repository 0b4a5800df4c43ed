package motion

import (
	"context"
	"math"
	"slices"

	"padside/fault"
)

// judged is a clock whose posterior was found.
type judged struct {
	post *posterior
	clock
	obs   []Observation // outliers set aside
	sway  *sway
	aside []fault.Warning
}

// byClocks finds the posterior of the launch, averaged over the clocks that the footage may have run
// by. It sets the observations of in to those by the most probable clock, outliers set aside.
func byClocks(ctx context.Context, in *Input, s *series, e effort) (*posterior, clock, []fault.Warning, error) {
	list := in.byStamps
	var best judged
	if list == nil {
		list = []clock{{obs: in.Observations}}
		if c := newClocks(in, s, e); c != nil {
			list = c.search()
		}
	}
	var found []*posterior
	var total logSum
	for i, k := range list {
		own := *in
		own.Observations, own.even = k.settled(), k.even
		s := newSeries(own.Observations, &own)
		if s == nil {
			continue
		}
		own.Seed += uint64(i) << 32
		post, aside, err := inferRest(ctx, &own, s, e)
		if err != nil {
			return nil, clock{}, nil, err
		}
		if len(post.pops) == 0 {
			continue
		}
		// By one unit of height, with the clock's own prior.
		post.evidence += k.prior - float64(len(own.Observations))*math.Log(post.s.unitH)
		total.add(post.evidence)
		found = append(found, post)
		if len(found) == 1 || post.evidence > best.post.evidence {
			best = judged{post, k, own.Observations, own.sway, aside}
		}
	}
	if len(found) == 0 {
		return nil, clock{}, nil, nil
	}
	in.Observations, in.sway, in.even = best.obs, best.sway, best.even
	all := &posterior{s: best.post.s}
	for _, post := range found {
		for j, pop := range post.pops {
			all.pops = append(all.pops, pop)
			all.share = append(all.share, post.share[j]*math.Exp(post.evidence-total.value()))
		}
	}
	return all, best.clock, slices.Concat(best.stampWarning(), best.slipWarning(), best.aside), nil
}

// settled returns the observations by a clock; pictures that repeat another say nothing more.
func (k *clock) settled() []Observation {
	obs := k.obs
	for _, s := range k.slips {
		if s.stale > 0 {
			obs = widened(obs, run{s.at, min(s.at+s.stale, len(obs)), suspectAt})
		}
	}
	return obs
}

// Clock is what the motion says of the times of frames, beside their observations.
type Clock struct {
	frames []int     // of the observations, rising
	later  []float64 // s, how much later than its observation's T each was taken
	repeat []bool    // it repeats the picture before
}

// newClock compares the times that were settled on with those given.
func newClock(given, settled []Observation, k clock) Clock {
	var c Clock
	for i, o := range settled {
		c.frames, c.later, c.repeat = append(c.frames, o.Frame), append(c.later, o.T-given[i].T), append(c.repeat, false)
	}
	for _, s := range k.slips {
		for i := s.at; i < min(s.at+s.stale, len(c.repeat)); i++ {
			c.repeat[i] = true
		}
	}
	return c
}

// Later is by how much later than its observation says the picture of a frame was taken, s: that of the
// last observation up to it.
func (c *Clock) Later(frame int) float64 {
	if i := c.upTo(frame); i >= 0 {
		return c.later[i]
	}
	return 0
}

// Repeats says whether a frame repeats the picture before.
func (c *Clock) Repeats(frame int) bool {
	i := c.upTo(frame)
	return i >= 0 && c.repeat[i] && c.frames[i] == frame
}

func (c *Clock) upTo(frame int) int {
	i, found := slices.BinarySearch(c.frames, frame)
	if !found {
		i--
	}
	return i
}
