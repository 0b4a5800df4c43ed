package fit

import (
	"math"
	"slices"
)

// madToSD makes the MAD of normal data its standard deviation: 1/Φ⁻¹(3/4).
const madToSD = 1.482602218505602

// Median returns the middle of x (the mean of the two middle ones), NaN-free x assumed; x is
// left as it is. The median of nothing is an error of the caller: it returns 0.
func Median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	s := slices.Clone(x)
	slices.Sort(s)
	h := len(s) / 2
	if len(s)%2 == 1 {
		return s[h]
	}
	return s[h-1] + (s[h]-s[h-1])/2
}

// MAD returns the median and 1.4826 times the median absolute deviation from it: for
// normal data an estimate of the standard deviation that survives outliers in up to half of
// it (Hampel, J. Am. Stat. Assoc. 69:383, 1974).
func MAD(x []float64) (median, sd float64) {
	median = Median(x)
	d := make([]float64, len(x))
	for i, v := range x {
		d[i] = math.Abs(v - median)
	}
	return median, madToSD * Median(d)
}
