package study

import (
	"slices"

	"padside/fault"
	"padside/metrology"
	"padside/motion"
)

// Heat is how launches finished by one answer.
type Heat struct {
	Row      Row       // the answer across all launches, those out of the order too
	Order    [][]int   // finishing places of those who race, ties together
	First    []float64 // per launch: the probability that it is first of those in the order; 0 for the others
	Warnings []fault.Warning
}

// RunHeat orders launches by one answer, named by its id and what belongs to it. Only those who race, told by index, are put into places;
// of them those without a value stay out. smaller says that the smaller value wins. Times of gates are counted from each launch's own
// first motion. The probability of being first is the share of joint draws in which no other of the order is better, a shared best
// counted in parts.
func RunHeat(launches []Launch, by metrology.Answer, races []bool, smaller bool) *Heat {
	h := &Heat{First: make([]float64, len(launches)), Order: [][]int{}}
	h.Row, _ = row(launches, by)
	var among []int
	for i := range launches {
		if races[i] && h.Row.answered(i) {
			among = append(among, i)
		}
	}
	h.Warnings = doubts(launches, func(i int) bool { return slices.Contains(among, i) })
	if by.ID != motion.PeakSpeed { // who still gains speed at the edge of view has crossed the gate all the same
		h.Warnings = slices.DeleteFunc(h.Warnings, func(w fault.Warning) bool { return w.Code == "still-accelerating" })
	}
	if len(among) > 0 {
		h.Order = h.Row.places(smaller, among)
		h.firsts(among, smaller)
	}
	return h
}

// answered says whether launch i (from 0) has a value with draws.
func (r *Row) answered(i int) bool { return r.Each[i].Value != nil && len(r.draws[i]) > 0 }

// firsts counts the draws in which each is best.
func (h *Heat) firsts(among []int, smaller bool) {
	n := len(h.Row.draws[among[0]])
	for _, i := range among {
		n = min(n, len(h.Row.draws[i]))
	}
	for k := range n {
		best, at := 0.0, []int(nil)
		for _, i := range among {
			v := h.Row.draws[i][k]
			if !smaller {
				v = -v
			}
			switch {
			case at == nil || v < best:
				best, at = v, append(at[:0], i)
			case v == best:
				at = append(at, i)
			}
		}
		for _, i := range at {
			h.First[i] += 1 / float64(len(at)*n)
		}
	}
}
