package study

import (
	"math"
	"slices"
)

// Verdict says how a condition stands to what a rule allows.
type Verdict string

// The verdicts.
const (
	Inside     Verdict = "inside"
	Outside    Verdict = "outside"
	CannotTell Verdict = "cannot-tell" // the condition is too uncertain to say
)

// conformK is the half width of a 95 % interval in standard uncertainties, normal distribution.
const conformK = 1.959963984540054

// Conform judges a value with standard uncertainty u against the limits lo and hi, all in one unit; a limit that is not set is infinite.
// Inside and outside are said only where the whole 95 % interval of the value lies there (guarded acceptance and guarded
// rejection, JCGM 106:2012, 8.3.2 and 8.3.3); a value without uncertainty is taken as exact, and the limits themselves are allowed.
func Conform(value, u, lo, hi float64) Verdict {
	slack := 1e-9 * (math.Abs(value) + math.Abs(clampInf(lo)) + math.Abs(clampInf(hi))) // what conversion between units may change
	a, b := value-conformK*u, value+conformK*u
	switch {
	case a >= lo-slack && b <= hi+slack:
		return Inside
	case b < lo-slack || a > hi+slack:
		return Outside
	}
	return CannotTell
}

func clampInf(v float64) float64 {
	if math.IsInf(v, 0) {
		return 0
	}
	return v
}

// Middle is the median: of an even number of values the mean of the two in the middle. It is 0 for none.
func Middle(values []float64) float64 {
	v := slices.Sorted(slices.Values(values))
	n := len(v)
	if n == 0 {
		return 0
	}
	return (v[(n-1)/2] + v[n/2]) / 2
}
