package pairs

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"padside/fit"
)

const (
	// pullAllowed is the factor by which a peak acceleration may exceed, or fall short of, what the mean speeds of pairs at the ends of stretches as long show: pairs smooth
	// over a quarter of the stretch at either end, and stretches begin at places.
	pullAllowed = 2
	// endShare is the half length of a pair at an end, as a share of the stretch.
	endShare = 0.25
)

// stretchesOfOne is how many stretches one place takes part in per place of an end, at most: as the first and the last of either pair.
const stretchesOfOne = 4

// pulled says why a peak acceleration, draw by draw, over stretches of length window (s), does not go with the places. What exceeds it must do so in more
// stretches than places astray can make.
func (g *guard) pulled(window float64, draws []float64) string {
	list := g.stretches(window)
	if len(list) == 0 {
		return ""
	}
	z := beyond(len(list))
	for i := range list {
		s := &list[i]
		s.most, s.least = s.a+z*s.u, s.a-z*s.u
	}
	best := slices.MaxFunc(list, func(a, b stretch) int { return cmp.Compare(a.most, b.most) })
	slices.SortFunc(list, func(a, b stretch) int { return cmp.Compare(b.least, a.least) })
	low := list[min(stretchesOfOne*g.strays(len(g.Places)), len(list)-1)]
	middle, sd := g.unwarped(draws, 2)
	z = beyond(1)
	over := func(s stretch, by string) string {
		return fmt.Sprintf("the places contradict the fitted acceleration, %s m/s2: over %.3g ms the mean speeds between them change by %s %s m/s2 (frames %d to %d)",
			figure(middle), 1e3*window, by, figure(s.a), g.Places[s.from].Frame, g.Places[s.to].Frame)
	}
	switch {
	case middle-z*sd > pullAllowed*math.Max(best.most, 0):
		return over(best, "no more than")
	case middle+z*sd < low.least/pullAllowed:
		return over(low, "as much as")
	}
	return ""
}

// stretch is a stretch of time and the mean acceleration over it by the mean speeds of the pairs at its ends.
type stretch struct {
	from, to    int     // places
	a, u        float64 // m/s2
	least, most float64
}

// stretches are those of length window that begin at a place.
func (g *guard) stretches(window float64) []stretch {
	p := g.Places
	n := len(p)
	steps := make([]float64, 0, n)
	for i := 1; i < n; i++ {
		steps = append(steps, p[i].T-p[i-1].T)
	}
	step := fit.Median(steps)
	half := max(1, int(endShare*window/step+0.5))
	ends := func(i int) (lo, hi int) { return max(i-half, 0), min(i+half, n-1) }
	var out []stretch
	j := 0
	for i := range p {
		for j < n && p[j].T < p[i].T+window-step/4 {
			j++
		}
		if j == n {
			break
		}
		a, b := ends(i)
		c, d := ends(j)
		apart := (p[c].T + p[d].T - p[a].T - p[b].T) / 2
		if a == c || apart < window/2 || apart > 2*window {
			continue
		}
		v, w := (p[b].H-p[a].H)/(p[b].T-p[a].T), (p[d].H-p[c].H)/(p[d].T-p[c].T)
		out = append(out, stretch{from: i, to: j, a: (w - v) / apart, u: math.Hypot(g.ownU(a, b), g.ownU(c, d)) / apart})
	}
	return out
}
