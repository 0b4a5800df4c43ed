package motion

import (
	"context"
	"math"

	"padside/fault"
)

// byClocks finds the posterior of the launch, averaged over the clocks that the footage may have run
// by. It sets the observations of in to those by the most probable clock, outliers set aside.
func byClocks(ctx context.Context, in *Input, s *series, e effort) (*posterior, []fault.Warning, error) {
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
			return nil, nil, err
		}
		if i == 0 {
			in.Observations, warn, all = own.Observations, append(warn, aside...), &posterior{s: post.s}
		}
		for j, pop := range post.pops {
			all.pops = append(all.pops, pop)
			all.share = append(all.share, post.share[j]*math.Exp(k.gain-total.value()))
		}
	}
	return all, warn, nil
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
