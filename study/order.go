package study

import (
	"fmt"
	"slices"

	"padside/motion"
)

// separated is the probability from which one launch is said to be before another: what a one-sided interval of 95 % leaves out on
// either side is 2.5 %.
const separated = 0.975

// orderAnswers are the answers that order launches, the most telling first, and whether the smaller value wins.
var orderAnswers = [...]struct {
	id      string
	smaller bool
	words   string
}{{motion.GateCrossing, true, "time to the highest gate"}, {motion.TimeToSpeed, true, "time to the highest speed"}, {motion.PeakSpeed, false, "peak speed"}}

// order sorts launches into finishing places by the most telling answer that all have: the highest gate, else the highest speed asked
// for, else the peak speed. A launch that cannot be told from the first of a place shares it.
func (c *Comparison) order() {
	c.Order = [][]int{}
	for _, by := range orderAnswers {
		for i := len(c.Rows) - 1; i >= 0; i-- { // questions rise
			r := &c.Rows[i]
			if r.ID == by.id && r.complete() {
				c.Order, c.OrderBy, c.By = r.places(by.smaller, nil), by.words, r
				return
			}
		}
	}
}

func (r *Row) complete() bool {
	for i := range r.Each {
		if !r.answered(i) {
			return false
		}
	}
	return true
}

// places groups launches, numbered from 1, by value: those among, given by index, or all where that is nil.
func (r *Row) places(smaller bool, among []int) [][]int {
	by := slices.Clone(among)
	for i := range r.Each {
		if among == nil {
			by = append(by, i)
		}
	}
	slices.SortStableFunc(by, func(a, b int) int {
		d := *r.Each[a].Value - *r.Each[b].Value
		if !smaller {
			d = -d
		}
		switch {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
		return 0
	})
	var out [][]int
	for k, i := range by {
		if k > 0 && r.before(out[len(out)-1][0]-1, i, smaller) < separated {
			last := &out[len(out)-1]
			*last = append(*last, i+1)
			continue
		}
		out = append(out, []int{i + 1})
	}
	for _, p := range out {
		slices.Sort(p)
	}
	return out
}

// before is the probability that launch a (from 0) comes before b.
func (r *Row) before(a, b int, smaller bool) float64 {
	for _, o := range r.Odds {
		if o.First == a+1 && o.Second == b+1 {
			if smaller {
				return o.Probability
			}
			return 1 - o.Probability
		}
	}
	return 0.5
}

// PlaceWords writes a place: "1" or "2 =" where it is shared.
func PlaceWords(order [][]int, place int) string {
	number := 1
	for _, p := range order[:place] {
		number += len(p)
	}
	if len(order[place]) > 1 {
		return fmt.Sprintf("%d =", number)
	}
	return fmt.Sprint(number)
}
