package motion

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"padside/fault"
)

// A run of up to longestRun frames is suspected of being mistraced when each of its frames lies
// suspectAt standard uncertainties or more off a parabola through its neighbours, and found so when the
// motion becomes more probable by outlierGain (in the logarithm) with their uncertainty made so large that they say
// little: kinks of the motion itself are suspected, and acquitted. At most outlierShare of the frames are
// set aside, else it is the noise that is larger.
const (
	longestRun   = 4
	suspectAt    = 5.0
	outlierGain  = 10.0
	outlierShare = 0.1
	suspects     = 3 // tried at a time
	neighbours   = 4 // on either side, at least neighboursLeast
	// Fewer moving frames than this cannot tell a mistraced frame from a real motion.
	outlierFrames   = 12
	neighboursLeast = 3
)

// run is a stretch of frames that lie off their neighbours, each by off standard uncertainties or more.
type run struct {
	from, to int
	off      float64
}

// setOutliersAside widens the uncertainty of frames that lie far off the path all others
// agree on, until none is left, and names them in a warning. It returns the fit to what
// is left. The observations are changed in a copy.
func setOutliersAside(in *Input, s *series, e effort) (guess, []fault.Warning) {
	obs := append([]Observation(nil), in.Observations...)
	g := firstGuess(s, e, nil)
	var found []run
	left := int(outlierShare * float64(len(obs)))
	for left > 0 && len(obs)-g.p.s.move >= outlierFrames {
		best, gain := run{}, outlierGain
		var kept guess
		for _, r := range suspected(doubtsFolded(phasesFolded(obs, in.PhaseU))) {
			if r.to-r.from > left {
				continue
			}
			if without, more := g.without(in, obs, r, e); more > gain {
				best, gain, kept = r, more, without
			}
		}
		if best.to == 0 {
			break
		}
		obs, g = widened(obs, best), kept
		left -= best.to - best.from
		found = append(found, best)
	}
	if len(found) == 0 {
		return g, nil
	}
	in.Observations = obs
	return g, []fault.Warning{{Code: "frames-off-path", Message: fmt.Sprintf(
		"frames that lie many times their uncertainty off the path of the others were left aside: %s; look at the trace there", named(obs, found))}}
}

// named lists runs, those that touch as one.
func named(obs []Observation, found []run) string {
	slices.SortFunc(found, func(a, b run) int { return a.from - b.from })
	var names []string
	for i := 0; i < len(found); i++ {
		r := found[i]
		for i+1 < len(found) && found[i+1].from <= r.to {
			i++
			r.to, r.off = max(r.to, found[i].to), math.Max(r.off, found[i].off)
		}
		name := fmt.Sprint(obs[r.from].Frame)
		if r.to > r.from+1 {
			name += fmt.Sprintf(" to %d", obs[r.to-1].Frame)
		}
		names = append(names, fmt.Sprintf("%s (%.0f times)", name, r.off))
	}
	return strings.Join(names, ", ")
}

// widened returns the observations with the frames of a run made to say little.
func widened(obs []Observation, r run) []Observation {
	out := append([]Observation(nil), obs...)
	for i := r.from; i < r.to; i++ {
		out[i].U *= 10 * r.off
	}
	return out
}

// without fits the motion with a run set aside, and says by how much the motion has become more probable.
func (g *guess) without(in *Input, obs []Observation, r run, e effort) (guess, float64) {
	s := newSeries(widened(obs, r), in)
	if s == nil || len(obs)-s.move < fewestMoving { // what is left does not move: keep the frames
		return guess{}, math.Inf(-1)
	}
	from := g
	if s.move != g.p.s.move { // another unit of time
		from = nil
	}
	w := firstGuess(s, e, from)
	perFrame := math.Log(g.p.s.unitH / s.unitH)
	return w, w.bump.value - g.bump.value + float64(len(obs))*perFrame
}

// suspected returns the runs that lie farthest off their neighbours.
func suspected(obs []Observation) []run {
	var all []run
	for n := 1; n <= longestRun; n++ {
		for i := neighboursLeast; i+n+neighboursLeast <= len(obs); i++ {
			if off := offNeighbours(obs, i, i+n); off > suspectAt {
				all = append(all, run{i, i + n, off})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b run) int { return cmp.Compare(b.off, a.off) })
	var out []run
	for _, r := range all {
		overlaps := slices.ContainsFunc(out, func(o run) bool { return r.from == o.from || r.to == o.to })
		if !overlaps && len(out) < suspects {
			out = append(out, r)
		}
	}
	return out
}

// offNeighbours returns how many standard uncertainties the frames [from, to) all lie off the
// weighted parabola through their neighbours at least. It is built of polynomials that are orthogonal over
// the neighbours (Forsythe, J. SIAM 5:74, 1957, from memory).
func offNeighbours(obs []Observation, from, to int) float64 {
	lo, hi := max(from-neighbours, 0), min(to+neighbours, len(obs))
	middle, span := obs[from].T, obs[hi-1].T-obs[lo].T
	at := func(i int) float64 { return (obs[i].T - middle) / span }
	var s, st float64
	each := func(f func(t, y, w float64)) {
		for i := lo; i < hi; i++ {
			if i < from || i >= to {
				f(at(i), obs[i].H-obs[from].H, 1/(obs[i].U*obs[i].U))
			}
		}
	}
	each(func(t, _, w float64) { s, st = s+w, st+w*t })
	a1 := st / s
	var n1, m1 float64
	each(func(t, _, w float64) { p := t - a1; n1, m1 = n1+w*p*p, m1+w*p*p*t })
	a2, b2 := m1/n1, n1/s
	p2 := func(t float64) float64 { return (t-a2)*(t-a1) - b2 }
	var n2, c0, c1, c2 float64
	each(func(t, y, w float64) {
		q := p2(t)
		n2 += w * q * q
		c0, c1, c2 = c0+w*y, c1+w*(t-a1)*y, c2+w*q*y
	})
	least := math.Inf(1)
	for i := from; i < to; i++ {
		t := at(i)
		p, q := t-a1, p2(t)
		off := obs[i].H - obs[from].H - (c0/s + c1/n1*p + c2/n2*q)
		u := math.Sqrt(obs[i].U*obs[i].U + 1/s + p*p/n1 + q*q/n2)
		least = math.Min(least, math.Abs(off)/u)
	}
	return least
}
