package layer

import (
	"math"
	"slices"
)

// ordered is x as a whole number that orders as x does (IEEE 754: the bits of numbers of one sign
// order as these do).
func ordered(x float32) uint32 {
	b := math.Float32bits(x)
	if b>>31 != 0 {
		return ^b
	}
	return b | 1<<31
}

const (
	fewRanked = 48 // values up to which sorting is quicker than counting
	rankBits  = 12 // sign, exponent and three bits of the mantissa
)

// rank is the k-th smallest of v, from 0, with 0 <= k < len(v); no value is NaN. It spoils v. The
// values are counted by their first bits, and only those that share the wanted one's are sorted:
// len(v) steps where sorting takes len(v) log len(v).
func rank(v []float32, k int) float32 {
	for len(v) > fewRanked {
		var count [1 << rankBits]uint32
		for _, x := range v {
			count[ordered(x)>>(32-rankBits)]++
		}
		bin := 0
		for ; k >= int(count[bin]); bin++ {
			k -= int(count[bin])
		}
		if int(count[bin]) == len(v) {
			break
		}
		n := 0
		for _, x := range v {
			if int(ordered(x)>>(32-rankBits)) == bin {
				v[n], n = x, n+1
			}
		}
		v = v[:n]
	}
	slices.Sort(v)
	return v[k]
}

// middle is the median of v, the upper one of two; 0 of none. It spoils v.
func middle(v []float32) float32 {
	if len(v) == 0 {
		return 0
	}
	return rank(v, len(v)/2)
}
