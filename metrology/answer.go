package metrology

import (
	"fmt"
	"math"
)

// Status says whether a question could be answered.
type Status string

const (
	// Measured: Value, U, Interval and Budget are set.
	Measured Status = "measured"
	// NotReached: the speed or height was not reached in view; no value.
	NotReached Status = "not-reached"
	// Insufficient: too few frames to say; no value.
	Insufficient Status = "insufficient"
)

// Bound says on which side of a value the quantity may lie anywhere; empty for neither.
type Bound string

const (
	Lower Bound = "lower" // the quantity is at least the value
	Upper Bound = "upper" // it is at most the value
)

// Interval is a closed interval [Lo, Hi] in the unit of the quantity it belongs to.
type Interval struct{ Lo, Hi float64 }

// Width is Hi - Lo.
func (i Interval) Width() float64 { return i.Hi - i.Lo }

// Holds says whether v lies in the interval, ends included.
func (i Interval) Holds(v float64) bool { return i.Lo <= v && v <= i.Hi }

// Share is one entry of an uncertainty budget: the fraction of the variance of an
// answer that goes away when Source is held at its best value (0 to 1).
type Share struct {
	Source string  `json:"source"`
	Share  float64 `json:"share"`
}

// Answer is one reported quantity, in SI, as contract.md writes it. A Value never
// stands without its interval: pointers are nil unless Status is Measured.
type Answer struct {
	ID     string   `json:"id"`
	Lane   int      `json:"lane,omitempty"`
	Speed  *float64 `json:"speed,omitempty"`  // m/s, for *_to_speed
	Height *float64 `json:"height,omitempty"` // m, for gate_*
	From   *float64 `json:"from,omitempty"`   // m, for split_speed
	To     *float64 `json:"to,omitempty"`     // m, for split_speed
	Window *float64 `json:"window,omitempty"` // s, for peak_acceleration

	FromFrame *int `json:"from_frame,omitempty"` // for average_speed
	ToFrame   *int `json:"to_frame,omitempty"`   // for average_speed

	Expected *float64 `json:"expected,omitempty"` // m/s2, for free_fall_acceleration

	Unit     string      `json:"unit"` // "s", "m/s", "m/s2", ...
	Status   Status      `json:"status"`
	Value    *float64    `json:"value,omitempty"`
	U        *float64    `json:"standard_uncertainty,omitempty"`
	Interval *[2]float64 `json:"interval95,omitempty"` // shortest interval holding 95 %
	Budget   []Share     `json:"budget,omitempty"`     // largest share first

	// Bound is set where the footage shows only part of what is asked: value and interval are of that part, and the quantity itself is at
	// least (Lower) or at most (Upper) that.
	Bound Bound `json:"bound,omitempty"`

	Reason string `json:"reason,omitempty"` // why there is no value, one line
}

// At is the speed or the height that the answer speaks of, SI, 0 where it speaks of neither.
func (a Answer) At() float64 {
	switch {
	case a.Speed != nil:
		return *a.Speed
	case a.Height != nil:
		return *a.Height
	}
	return 0
}

// Check says what an answer that was read lacks or has too much of, nil where it is whole: measured, it has a value, a standard uncertainty of at
// least 0 and an interval that does not end before it begins, all finite; otherwise none of them.
func (a Answer) Check() error {
	switch a.Status {
	case NotReached, Insufficient:
		if a.Value != nil || a.U != nil || a.Interval != nil {
			return fmt.Errorf("%s has a value and is %s", a.ID, a.Status)
		}
		return nil
	case Measured:
	default:
		return fmt.Errorf("%s has the unknown status %q", a.ID, a.Status)
	}
	for _, p := range []struct {
		name string
		at   *float64
	}{{"value", a.Value}, {"standard uncertainty", a.U}} {
		if p.at == nil || math.IsNaN(*p.at) || math.IsInf(*p.at, 0) {
			return fmt.Errorf("%s is measured without a finite %s", a.ID, p.name)
		}
	}
	// A comparison with NaN is false.
	if iv := a.Interval; iv == nil || !(math.Abs(iv[0]) <= math.MaxFloat64 && math.Abs(iv[1]) <= math.MaxFloat64 && iv[0] <= iv[1]) {
		return fmt.Errorf("%s is measured without a finite interval", a.ID)
	}
	if *a.U < 0 {
		return fmt.Errorf("%s has a negative standard uncertainty", a.ID)
	}
	return nil
}

// FromDraws returns a as measured: the value is the best value given, the standard
// uncertainty the standard deviation of the draws, the interval the shortest that holds
// 95 % of them (JCGM 101:2008, 7.6 and 7.7). The best value is the caller's because a mean
// of draws is the wrong centre of a skewed answer (the largest acceleration of a draw is
// biased upwards); it is an error where it lies outside the range of the draws.
func FromDraws(a Answer, value float64, draws []float64) (Answer, error) {
	iv, err := ShortestInterval(draws, 0.95)
	if err != nil {
		return a, fmt.Errorf("answer %s: %w", a.ID, err)
	}
	if math.IsNaN(value) || math.IsInf(value, 0) {
		return a, fmt.Errorf("answer %s: best value is %g", a.ID, value)
	}
	u := SD(draws)
	lo, hi := bounds(draws)
	if slack := 1e-9 * (math.Abs(value) + u); value < lo-slack || value > hi+slack {
		return a, fmt.Errorf("answer %s: best value %g lies outside its own draws, %g to %g", a.ID, value, lo, hi)
	}
	a.Status, a.Reason = Measured, ""
	a.Value, a.U, a.Interval = &value, &u, &[2]float64{iv.Lo, iv.Hi}
	return a, nil
}

// FromEstimate returns a as measured: value ± t_95(dof) u.
func FromEstimate(a Answer, e Estimate) (Answer, error) {
	if err := e.check(); err != nil {
		return a, fmt.Errorf("answer %s: %w", a.ID, err)
	}
	iv := e.Interval(0.95)
	a.Status, a.Reason = Measured, ""
	a.Value, a.U, a.Interval = &e.Value, &e.U, &[2]float64{iv.Lo, iv.Hi}
	return a, nil
}

// WithoutValue returns a with a status that gives no value, and why. What was said of the value
// goes with it.
func WithoutValue(a Answer, status Status, reason string) Answer {
	a.Status, a.Reason = status, reason
	a.Value, a.U, a.Interval, a.Budget = nil, nil, nil, nil
	a.Bound = ""
	return a
}

func bounds(x []float64) (lo, hi float64) {
	lo, hi = x[0], x[0]
	for _, v := range x {
		lo, hi = min(lo, v), max(hi, v)
	}
	return lo, hi
}
