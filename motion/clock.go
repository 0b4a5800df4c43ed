package motion

import (
	"context"
	"math"
	"slices"

	"padside/fault"
)

// byClocks finds the posterior of the launch, averaged over the clocks that the footage may have run
// by. It sets the observations of in to those by the most probable clock, outliers set aside.
func byClocks(ctx context.Context, in *Input, s *series, e effort) (*posterior, clock, []fault.Warning, error) {
	list := []clock{{obs: in.Observations}}
	var warn []fault.Warning
	if c := newClocks(in, s, e); c != nil {
		list = c.search()
		warn = list[0].slipWarning()
	}
	var all *posterior
	var total logSum
	for _, k := range list {
		total.add(k.gain)
	}
	for i, k := range list {
		own := *in
		own.Observations = k.settled()
		s := newSeries(own.Observations, &own)
		if s == nil {
			continue
		}
		first, aside := setOutliersAside(&own, s, e)
		post, err := infer(ctx, first, in.kind(), e, in.Seed+uint64(i)<<32)
		if err != nil {
			return nil, clock{}, nil, err
		}
		if i == 0 {
			in.Observations, warn, all = own.Observations, append(warn, aside...), &posterior{s: post.s}
		}
		for j, pop := range post.pops {
			all.pops = append(all.pops, pop)
			all.share = append(all.share, post.share[j]*math.Exp(k.gain-total.value()))
		}
	}
	return all, list[0], warn, nil
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
