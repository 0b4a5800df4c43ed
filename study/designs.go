package study

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"padside/metrology"
)

// Apart says whether two designs can be told apart by one answer, and how many launches would do it.
type Apart struct {
	A          string     `json:"a"` // the designs: what the launches of each have in common
	B          string     `json:"b"`
	LaunchesA  int        `json:"launches_a"`
	LaunchesB  int        `json:"launches_b"`
	Difference float64    `json:"difference"` // of the means, B less A
	Interval   [2]float64 `json:"interval95"`
	Apart      bool       `json:"apart"`             // the interval leaves nothing out
	Needed     int        `json:"needed"`            // launches of each design, those flown included, where the difference truly is as it looks; 0: no number up to 10,000
	Fixed      bool       `json:"limited_by_setups"` // no number of launches does it: what the setups do not share is not made smaller by flying again
	AtLeast    bool       `json:"at_least"`          // no design was flown twice: how much launches differ is not known, and at least so many are needed
}

// apartChance is the chance with which the launches needed show the difference.
const apartChance = 0.8

// TellApart compares every two designs by one answer. designs names each launch's; launches without a value are left out. The variance of the difference of two means
// is s²/n of each, with s the scatter of a design's launches (of the other's where it was flown once; what one measurement errs by itself where
// both were), plus what the two means' errors do not share and repeating does not make smaller: the variance of the joint draws of the difference, less what is
// each launch's own. Degrees of freedom by Welch and Satterthwaite (JCGM 100:2008, G.4.1).
func (r *Row) TellApart(designs []string) []Apart {
	var names []string
	members := map[string][]int{}
	for i := range r.Each {
		if !r.answered(i) {
			continue
		}
		if d := designs[i]; members[d] == nil {
			names = append(names, d)
		}
		members[designs[i]] = append(members[designs[i]], i)
	}
	var out []Apart
	for j := range names {
		for i := range j {
			if a, err := r.apart(members[names[i]], members[names[j]]); err == nil {
				a.A, a.B = names[i], names[j]
				out = append(out, *a)
			}
		}
	}
	return out
}

// group is one design's launches by one answer.
type group struct {
	n       int
	mean    float64
	scatter float64   // s²; 0 with one launch
	draws   []float64 // of the mean
}

func (r *Row) groupOf(list []int) group {
	g := group{n: len(list)}
	var values []float64
	for _, i := range list {
		values = append(values, *r.Each[i].Value)
	}
	g.mean, g.scatter = metrology.Variance(values)
	if g.n == 1 {
		g.scatter = 0
	}
	g.draws = make([]float64, len(r.draws[list[0]]))
	for _, i := range list {
		g.draws = g.draws[:min(len(g.draws), len(r.draws[i]))]
		for k := range g.draws {
			g.draws[k] += r.draws[i][k] / float64(g.n)
		}
	}
	return g
}

// apart compares two designs, given by the indices of their launches.
func (r *Row) apart(a, b []int) (*Apart, error) {
	ga, gb := r.groupOf(a), r.groupOf(b)
	var draws [][]float64
	for _, i := range append(append([]int(nil), a...), b...) {
		draws = append(draws, r.draws[i][:min(len(ga.draws), len(gb.draws))])
	}
	_, own, err := parts(draws)
	if err != nil {
		return nil, fmt.Errorf("tell apart: %w", err)
	}
	_, joint := metrology.Variance(minus(gb.draws, ga.draws))
	na, nb := float64(ga.n), float64(gb.n)
	fixed := math.Max(0, joint-own/na-own/nb)
	out := &Apart{LaunchesA: ga.n, LaunchesB: gb.n, Difference: gb.mean - ga.mean, AtLeast: ga.n < 2 && gb.n < 2}
	va, vb := math.Max(own, ga.scatter), math.Max(own, gb.scatter)
	da, db := na-1, nb-1 // degrees of freedom
	switch {
	case out.AtLeast:
		da, db = math.Inf(1), math.Inf(1) // measuring alone, whose error is known
	case ga.n < 2:
		va, da = vb, db
	case gb.n < 2:
		vb, db = va, da
	}
	u2 := va/na + vb/nb
	e := metrology.Known(out.Difference, math.Sqrt(u2+fixed))
	if below := va/na*va/na/da + vb/nb*vb/nb/db; below > 0 {
		e.Dof = (u2 + fixed) * (u2 + fixed) / below
	}
	iv := e.Interval(0.95)
	out.Interval = [2]float64{iv.Lo, iv.Hi}
	out.Apart = iv.Lo > 0 || iv.Hi < 0
	out.Needed, out.Fixed = needed(out.Difference, va+vb, fixed, apartChance)
	return out, nil
}

// needed is how many launches of each of two designs tell a true difference apart with the given chance, by a two-sided test at 5 %: the least n whose standard
// error of the difference, sqrt(variance/n + fixed), times t(0.975, 2n-2) + t(chance, 2n-2) is no more than the difference. It is 0 where no number up to
// 10,000 does; limited says that the fixed part alone forbids it.
func needed(difference, variance, fixed, chance float64) (n int, limited bool) {
	d := math.Abs(difference)
	if !(d > 0) || !(chance > 0 && chance < 1) {
		return 0, false
	}
	normal := distuv.UnitNormal
	if d*d <= fixed*math.Pow(normal.Quantile(0.975)+normal.Quantile(chance), 2) {
		return 0, true
	}
	enough := func(n int) bool {
		t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(2*n - 2)}
		return d >= math.Sqrt(variance/float64(n)+fixed)*(t.Quantile(0.975)+t.Quantile(chance))
	}
	if !enough(mostLaunches) {
		return 0, false
	}
	low, high := 1, mostLaunches // the last of too few, the first of enough
	for high-low > 1 {
		if mid := (low + high) / 2; enough(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high, false
}
