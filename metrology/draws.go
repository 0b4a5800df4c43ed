package metrology

import (
	"fmt"
	"math"
	"slices"
)

// fewestDraws is the least number of draws an interval is taken from: with fewer, a 95 %
// interval leaves out less than five draws at its ends. JCGM 101:2008 7.2.2 advises 1e4/(1-p).
const fewestDraws = 100

// checkDraws refuses too few draws and those that are no numbers.
func checkDraws(draws []float64) error {
	if len(draws) < fewestDraws {
		return fmt.Errorf("%d draws: an interval needs at least %d", len(draws), fewestDraws)
	}
	for i, d := range draws {
		if math.IsNaN(d) || math.IsInf(d, 0) {
			return fmt.Errorf("draw %d is %g", i, d)
		}
	}
	return nil
}

// ShortestInterval returns the shortest interval that holds the fraction p of the draws:
// with the draws sorted and q = pM (rounded), the least y(r+q) - y(r) over r
// (JCGM 101:2008, 5.3.4 and 7.7.4). The draws are left as they are. Its ends scatter
// more than those of the symmetric interval where the distribution's top is flat.
func ShortestInterval(draws []float64, p float64) (Interval, error) {
	sorted, q, err := sortDraws(draws, p)
	if err != nil {
		return Interval{}, fmt.Errorf("find the shortest interval: %w", err)
	}
	best := Interval{sorted[0], sorted[q]}
	for r := 1; r+q < len(sorted); r++ {
		if sorted[r+q]-sorted[r] < best.Hi-best.Lo {
			best = Interval{sorted[r], sorted[r+q]}
		}
	}
	return best, nil
}

// SymmetricInterval returns the probabilistically symmetric interval of fraction p: as
// many draws lie below as above it (JCGM 101:2008, 7.7.2).
func SymmetricInterval(draws []float64, p float64) (Interval, error) {
	sorted, q, err := sortDraws(draws, p)
	if err != nil {
		return Interval{}, fmt.Errorf("find the symmetric interval: %w", err)
	}
	r := (len(sorted) - q) / 2
	r = min(r, len(sorted)-1-q)
	return Interval{sorted[r], sorted[r+q]}, nil
}

// sortDraws returns a sorted copy and q, how many places apart the ends of an interval are.
func sortDraws(draws []float64, p float64) (sorted []float64, q int, err error) {
	if err := checkDraws(draws); err != nil {
		return nil, 0, err
	}
	if math.IsNaN(p) || p <= 0 || p >= 1 {
		return nil, 0, fmt.Errorf("probability %g is not between 0 and 1", p)
	}
	sorted = slices.Clone(draws)
	slices.Sort(sorted)
	q = int(math.Floor(p*float64(len(draws)) + 0.5))
	return sorted, min(q, len(draws)-1), nil
}

// Variance returns the mean and the variance (divisor n-1) of a sample, by the corrected
// two-pass algorithm (Chan, Golub & LeVeque, Am. Stat. 37:242, 1983, eq. 1.7): the digits
// the values share are not lost. Fewer than two values have variance 0.
func Variance(x []float64) (mean, variance float64) {
	n := float64(len(x))
	if n == 0 {
		return 0, 0
	}
	origin := x[0] // a first guess of the mean: differences from it are small and nearly exact
	for _, v := range x {
		mean += v - origin
	}
	mean /= n
	if n < 2 {
		return origin + mean, 0
	}
	var squares, rest float64
	for _, v := range x {
		d := (v - origin) - mean
		squares += d * d
		rest += d
	}
	return origin + mean, (squares - rest*rest/n) / (n - 1)
}

// SD returns the standard deviation (divisor n-1) of a sample.
func SD(x []float64) float64 {
	_, v := Variance(x)
	return math.Sqrt(v)
}

// FromSample returns the type A estimate of repeated observations: their mean, its standard
// uncertainty s/sqrt(n), and n-1 degrees of freedom (GUM 4.2). It needs two or more.
func FromSample(x []float64) (Estimate, error) {
	if len(x) < 2 {
		return Estimate{}, fmt.Errorf("estimate a mean: %d observation(s) show no scatter", len(x))
	}
	mean, v := Variance(x)
	e := Estimate{Value: mean, U: math.Sqrt(v / float64(len(x))), Dof: float64(len(x) - 1)}
	if err := e.check(); err != nil {
		return Estimate{}, fmt.Errorf("estimate a mean: %w", err)
	}
	return e, nil
}
