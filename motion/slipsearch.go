package motion

import (
	"cmp"
	"slices"
)

// with returns the slips with one more, in order.
func with(slips []slip, s slip) []slip {
	out := append(slices.Clone(slips), s)
	slices.SortFunc(out, func(a, b slip) int { return cmp.Compare(a.at, b.at) })
	return out
}

// slipHope is by how much (ln) another slip must make the heights more probable, whatever is said
// beforehand, for the search to go on from it: of many slips each alone may be worth less than it
// costs, for the motion bends to what the others leave.
const slipHope = 2.0

// search adds slips one by one as long as the heights become more probable, takes those from the
// most probable clock on the way that it is better without, then lists the clocks that are nearly
// as probable: that one, less each of its slips, and with one more where the frames cannot tell.
// The most probable comes first.
func (c *clocks) search() []clock {
	best := clock{obs: c.in.Observations}
	var near []clock
	for last := best; len(last.slips) < mostSlips; {
		more := c.more(last)
		if last.same(best) {
			near = more
		}
		if len(more) == 0 {
			break
		}
		next := slices.MaxFunc(more, func(a, b clock) int { return cmp.Compare(a.gain, b.gain) })
		if next.gain-next.prior < last.gain-last.prior+slipHope {
			break
		}
		if last = next; last.gain > best.gain {
			best = last
		}
	}
	for i := 0; i < len(best.slips); {
		less := c.clock(slices.Delete(slices.Clone(best.slips), i, i+1))
		near = append(near, less)
		if i++; less.gain > best.gain {
			near, best, i = append(near, best), less, 0
		}
	}
	near = append(near, c.early(best)...)
	if len(c.in.Observations)-inEarnest(best.obs) <= fewMoving {
		return probable(best, append(near, c.pairs(best, near)...), keptOfFew)
	}
	return probable(best, near, keptClocks)
}

// more lists the clocks with one more suspect each.
func (c *clocks) more(k clock) (out []clock) {
	for _, s := range c.suspects(k.obs) {
		if !crowded(k.slips, s) {
			out = append(out, c.clock(with(k.slips, s)))
		}
	}
	return out
}

// same says whether two clocks are one hypothesis.
func (k *clock) same(o clock) bool { return slices.Equal(k.slips, o.slips) && k.share == o.share }

// pairs lists the clocks with two more slips, of the pairedSingles that say most alone: of few
// frames one alone may explain little.
func (c *clocks) pairs(best clock, near []clock) []clock {
	near = slices.Clone(near)
	slices.SortStableFunc(near, func(a, b clock) int { return cmp.Compare(b.gain, a.gain) })
	var singles []slip
	for _, k := range near {
		if len(k.slips) == len(best.slips)+1 && len(singles) < pairedSingles {
			singles = append(singles, k.added(best.slips))
		}
	}
	var out []clock
	for i, a := range singles {
		for _, b := range singles[i+1:] {
			if !crowded([]slip{a}, b) {
				out = append(out, c.clock(with(with(best.slips, a), b)))
			}
		}
	}
	return out
}

const pairedSingles = 8

// added is the slip that k has beside those.
func (k *clock) added(slips []slip) slip {
	for _, s := range k.slips {
		if !slices.Contains(slips, s) {
			return s
		}
	}
	return slip{}
}

// early lists the clocks with one more slip about first motion, where the vehicle is so slow that
// its places hardly show one. Those that move all later times by as much are one hypothesis: its
// probability is the sum of theirs.
func (c *clocks) early(best clock) []clock {
	off := inEarnest(best.obs)
	groups := map[int][]clock{}
	for at := max(firstOff(best.obs)-1, off-slowSteps, 1); at < min(off+earlySteps, len(best.obs)); at++ {
		for _, s := range slipsAt(best.obs, at) {
			if s.lost == 0 || at+s.stale >= len(best.obs) || crowded(best.slips, s) {
				continue
			}
			groups[s.lost] = append(groups[s.lost], c.clock(with(best.slips, s)))
		}
	}
	var out []clock
	for _, k := range kinds {
		if g := groups[k.lost]; len(g) > 0 {
			var sum logSum
			for _, o := range g {
				sum.add(o.gain)
			}
			top := slices.MaxFunc(g, func(a, b clock) int { return cmp.Compare(a.gain, b.gain) })
			top.prior += sum.value() - top.gain
			top.gain = sum.value()
			out = append(out, top)
		}
		delete(groups, k.lost)
	}
	return out
}

// How many frames before and after the first in earnest early looks at.
const (
	slowSteps  = 6
	earlySteps = 5
)

// crowded says whether another slip lies at the same observations.
func crowded(slips []slip, s slip) bool {
	return slices.ContainsFunc(slips, func(o slip) bool {
		return s.at <= o.at+o.stale && o.at <= s.at+s.stale
	})
}

// probable lists the clocks that count, the best first and each once.
func probable(best clock, near []clock, most int) []clock {
	all := append([]clock{best}, near...)
	slices.SortStableFunc(all, func(a, b clock) int { return cmp.Compare(b.gain, a.gain) })
	list := all[:0:0]
	for _, k := range all {
		if len(list) < most && all[0].gain-k.gain < hopelessClock && !slices.ContainsFunc(list, k.same) {
			list = append(list, k)
		}
	}
	return list
}
