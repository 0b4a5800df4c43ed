package metrology

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Group is one launch (or day, or instrument) observed several times.
type Group struct {
	N    int     // observations, one or more
	Mean float64 // their mean
	SD   float64 // their standard deviation, divisor N-1; ignored where N is 1
}

// NewGroup summarises observations.
func NewGroup(x []float64) Group {
	mean, v := Variance(x)
	return Group{N: len(x), Mean: mean, SD: math.Sqrt(v)}
}

// Anova separates the scatter between groups from that within them: the one-way random
// effects model of GUM (JCGM 100:2008) H.5.
type Anova struct {
	Mean                  float64 // of all observations
	BetweenSS, WithinSS   float64 // sums of squares
	BetweenDof, WithinDof int
	F                     float64 // ratio of the mean squares; +Inf where nothing scatters within
	P                     float64 // probability of such an F or a larger one if groups did not differ
	R2                    float64 // BetweenSS over the whole
	ResidualSD            float64 // within a group: sqrt of the within mean square
	BetweenSD             float64 // of the groups' true values; 0 where F < 1
}

// OneWay analyses two or more groups, with at least one observation more than groups.
// BetweenSD uses n0 = (N - Σn²/N)/(k-1) in place of the common group size where sizes
// differ (Searle, Casella & McCulloch, Variance Components, 1992, 3.6; from memory).
func OneWay(groups []Group) (*Anova, error) {
	var n, squares float64
	for i, g := range groups {
		if g.N < 1 || math.IsNaN(g.Mean) || math.IsInf(g.Mean, 0) || g.N > 1 && !(g.SD >= 0 && g.SD < math.Inf(1)) {
			return nil, fmt.Errorf("compare groups: group %d is empty or not finite", i)
		}
		n += float64(g.N)
		squares += float64(g.N) * float64(g.N)
	}
	k := len(groups)
	a := &Anova{BetweenDof: k - 1, WithinDof: int(n) - k}
	if k < 2 || a.WithinDof < 1 {
		return nil, fmt.Errorf("compare groups: %d group(s) of %d observations in all show no scatter within", k, int(n))
	}
	origin := groups[0].Mean // differences from it keep the digits the groups do not share
	var offset float64
	for _, g := range groups {
		offset += float64(g.N) * (g.Mean - origin)
	}
	offset /= n
	a.Mean = origin + offset
	for _, g := range groups {
		d := (g.Mean - origin) - offset
		a.BetweenSS += float64(g.N) * d * d
		if g.N > 1 {
			a.WithinSS += float64(g.N-1) * g.SD * g.SD
		}
	}
	between, within := a.BetweenSS/float64(a.BetweenDof), a.WithinSS/float64(a.WithinDof)
	a.ResidualSD = math.Sqrt(within)
	a.F, a.P = math.Inf(1), 0
	if within > 0 {
		a.F = between / within
		a.P = distuv.F{D1: float64(a.BetweenDof), D2: float64(a.WithinDof)}.Survival(a.F)
	} else if between == 0 {
		a.F, a.P = 0, 1
	}
	if total := a.BetweenSS + a.WithinSS; total > 0 {
		a.R2 = a.BetweenSS / total
	}
	n0 := (n - squares/n) / float64(k-1)
	a.BetweenSD = math.Sqrt(max(0, between-within) / n0)
	return a, nil
}

// MeanOfGroups returns the mean of equally sized groups and its uncertainty where groups are
// allowed to differ: s(means)/sqrt(k), k-1 degrees of freedom (GUM H.5.2.5). It is right
// whether or not they do, which is why it is preferred to pooling.
func MeanOfGroups(groups []Group) (Estimate, error) {
	means := make([]float64, len(groups))
	for i, g := range groups {
		if g.N != groups[0].N {
			return Estimate{}, fmt.Errorf("average groups: group %d has %d observations, the first %d", i, g.N, groups[0].N)
		}
		means[i] = g.Mean
	}
	return FromSample(means)
}
