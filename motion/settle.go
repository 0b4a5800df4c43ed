package motion

import (
	"fmt"
	"math"
	"sort"

	"padside/metrology"
)

// Fractions of the draws that decide the status of an answer.
const (
	reachedBy    = 0.95 // at least so many draws reach it: measured
	notReachedBy = 0.05 // at most so many: not reached
)

// settle decides the status of answer j and fills it in.
func (m *measurement) settle(j int) (metrology.Answer, []float64) {
	q := &m.qs[j]
	a := q.answer
	values := m.values[j]
	reached := 0
	for i, v := range values {
		if math.IsNaN(v) {
			values[i] = m.stand[j][i]
		} else {
			reached++
		}
	}
	f := float64(reached) / float64(len(values))
	why := m.unfilmed(q)
	switch {
	case why != "":
		a.Status, a.Reason = metrology.Insufficient, why
		return a, nil
	case f <= notReachedBy:
		a.Status, a.Reason = metrology.NotReached, fmt.Sprintf("the %s was not reached in view", q.what)
		return a, nil
	case f < reachedBy:
		a.Status = metrology.Insufficient
		a.Reason = fmt.Sprintf("the %s lies within the uncertainty of the highest in view: %.0f %% of the possible motions reach it", q.what, 100*f)
		return a, nil
	case q.since == firstMotion && atFirst(values) > notReachedBy:
		a.Status, a.Reason = metrology.Insufficient, fmt.Sprintf("the %s may be there at first motion already, so the launch itself was not seen to reach it", q.what)
		return a, nil
	}
	fillAnswer(&a, values)
	if a.Status != metrology.Measured {
		return a, nil
	}
	held := make([][]float64, len(m.sources))
	for i := range held {
		held[i] = m.held[i][j]
	}
	a.Budget = budget(values, held, m.sources)
	return a, values
}

// atFirst is the share of draws in which no time passes from first motion on: after rest that sways the vehicle begins with a speed. Per time, that is without bound.
func atFirst(values []float64) float64 {
	n := 0
	for _, v := range values {
		if v == 0 || math.IsInf(v, 0) {
			n++
		}
	}
	return float64(n) / float64(len(values))
}

// fillAnswer gives an answer the value (median), uncertainty and shortest 95 % interval of its draws.
func fillAnswer(a *metrology.Answer, draws []float64) {
	sorted := append([]float64(nil), draws...)
	sort.Float64s(sorted)
	value, u := quantile(sorted, 0.5), metrology.SD(draws)
	in, err := metrology.ShortestInterval(draws, 0.95)
	if err != nil { // draws that are no numbers: never a value without an interval
		a.Status, a.Reason = metrology.Insufficient, "the motion is not determined well enough to say"
		return
	}
	a.Status, a.Value, a.U = metrology.Measured, &value, &u
	a.Interval = &[2]float64{math.Min(in.Lo, value), math.Max(in.Hi, value)}
}

// budget returns the share of each source. held has the draws with each source at its best value.
func budget(draws []float64, held [][]float64, sources []string) []metrology.Share {
	var list []metrology.Held
	for s, name := range sources {
		list = append(list, metrology.Held{Source: name, Draws: held[s]})
	}
	shares, err := metrology.Budget(draws[:min(len(draws), budgetDraws)], list)
	if err != nil {
		return nil
	}
	return shares
}

// quantile returns the p-quantile of sorted values.
func quantile(sorted []float64, p float64) float64 {
	x := p * float64(len(sorted)-1)
	i := int(x)
	if i >= len(sorted)-1 {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (x-float64(i))*(sorted[i+1]-sorted[i])
}
