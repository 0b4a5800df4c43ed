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

// Rounding returns the standard uncertainty of a stamp that was rounded or cut to whole
// ticks (s): a rectangle one tick wide, tick/sqrt(12) (GUM, JCGM 100:2008, 4.3.7).
// Matroska's tick is 1 ms. A cut (not rounded) stamp is also half a tick early; as every
// stamp of the footage is, that shifts time zero alone.
func Rounding(tick *big.Rat) float64 {
	t, _ := tick.Float64()
	return t / math.Sqrt(12)
}

// Resolution infers the tick of a set of stamps written in decimal digits, as EXIF's are:
// the coarsest of 1 s, 0.1 s, ... 1 us of which all are whole multiples. Too coarse a tick
// can come out of very few stamps (one pair in a hundred of 1 ms stamps looks like 10 ms),
// which errs on the safe side. Stamps must be as written, not counted from frame 0's.
func Resolution(stamps []*big.Rat) *big.Rat {
	tick := big.NewRat(1, 1)
	for range 6 {
		if wholeMultiples(stamps, tick) {
			break
		}
		tick = new(big.Rat).Mul(tick, big.NewRat(1, 10))
	}
	return tick
}

func wholeMultiples(stamps []*big.Rat, tick *big.Rat) bool {
	for _, s := range stamps {
		if !new(big.Rat).Quo(s, tick).IsInt() {
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
