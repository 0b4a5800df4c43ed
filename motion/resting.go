package motion

import (
	"context"
	"math"

	"padside/fault"
)

// inferRest finds the posterior with rest that is still and, where the heights suggest it, with
// rest that sways, and averages the two by evidence. One that lies far behind in the plainest fit
// is left out. Outliers are set aside in the Input under the better one.
func inferRest(ctx context.Context, in *Input, s *series, e effort) (*posterior, []fault.Warning, error) {
	still, swaying := *in, *in
	odds := swayOdds
	if in.kind() == Dropped {
		odds = swayDropped
	}
	lead := 0.0 // of still rest over one that sways, in the logarithm
	if swaying.sway = swayOf(doubtsFolded(phasesFolded(in.Observations, in.PhaseU)), in.kind()); swaying.sway == nil {
		lead = math.Inf(1)
	} else {
		lead = firstGuess(s, e, nil).bump.value - firstGuess(newSeries(in.Observations, &swaying), e, nil).bump.value - odds
	}
	better, other := &still, &swaying
	if lead < 0 {
		better, other, odds = &swaying, &still, -odds
		s = newSeries(in.Observations, better)
	}
	first, warn := setOutliersAside(better, s, e)
	in.Observations, in.sway = better.Observations, better.sway
	post, err := infer(ctx, first, in.kind(), e, in.Seed)
	if err != nil || math.Abs(lead) > discardBelow {
		return post, warn, err
	}
	other.Observations = better.Observations
	also, err := infer(ctx, firstGuess(newSeries(other.Observations, other), e, nil), in.kind(), e, in.Seed+1)
	if err != nil {
		return nil, nil, err
	}
	for _, pop := range also.pops {
		pop.evidence += odds
	}
	post.pops = append(post.pops, also.pops...)
	post.weigh()
	return post, warn, nil
}

// weigh sets the share of each population by its evidence.
func (post *posterior) weigh() {
	var total logSum
	for _, pop := range post.pops {
		total.add(pop.evidence)
	}
	post.evidence, post.share = total.value(), post.share[:0]
	for _, pop := range post.pops {
		post.share = append(post.share, math.Exp(pop.evidence-total.value()))
	}
}
