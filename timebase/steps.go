package timebase

import (
	"math"
	"math/big"
)

// Steps returns the smallest and the largest time from one frame to the next (s, exact).
func (b *Base) Steps() (smallest, largest *big.Rat) {
	if b.Basis == Rate {
		return new(big.Rat).Inv(b.Hz), new(big.Rat).Inv(b.Hz)
	}
	for i := 1; i < len(b.Stamps); i++ {
		step := new(big.Rat).Sub(b.Stamps[i], b.Stamps[i-1])
		if smallest == nil || step.Cmp(smallest) < 0 {
			smallest = step
		}
		if largest == nil || step.Cmp(largest) > 0 {
			largest = step
		}
	}
	return smallest, largest
}

// MeanStep returns the mean time from one frame to the next (s, exact).
func (b *Base) MeanStep() *big.Rat {
	if b.Basis == Rate {
		return new(big.Rat).Inv(b.Hz)
	}
	n := len(b.Stamps) - 1
	return new(big.Rat).Quo(b.Stamps[n], big.NewRat(int64(n), 1))
}

// Constant says whether the frames are evenly spaced: every stamp lies within one tick of
// the even spacing, where the tick is what StampU stands for (StampU*sqrt(12)); with StampU
// zero the spacing must be exact.
func (b *Base) Constant() bool {
	if b.Basis == Rate {
		return true
	}
	mean := b.MeanStep()
	tick := new(big.Rat).SetFloat64(b.StampU * math.Sqrt(12))
	// A tick is rarely a binary fraction: allow it to be reached.
	tick.Mul(tick, big.NewRat(1_000_001, 1_000_000))
	for i, s := range b.Stamps {
		even := new(big.Rat).Mul(mean, big.NewRat(int64(i), 1))
		if even.Sub(even, s).Abs(even).Cmp(tick) > 0 {
			return false
		}
	}
	return true
}

func ratText(r *big.Rat) string {
	if r == nil {
		return "nothing"
	}
	return r.RatString() + " Hz"
}
