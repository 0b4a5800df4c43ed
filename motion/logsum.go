package motion

import "math"

// logSum adds numbers given by their logarithms.
type logSum struct {
	best, sum float64
	any       bool
}

func (s *logSum) add(l float64) {
	switch {
	case math.IsInf(l, -1) || math.IsNaN(l):
	case !s.any:
		s.best, s.sum, s.any = l, 1, true
	case l <= s.best:
		s.sum += math.Exp(l - s.best)
	default:
		s.sum = s.sum*math.Exp(s.best-l) + 1
		s.best = l
	}
}

func (s *logSum) value() float64 {
	if !s.any {
		return math.Inf(-1)
	}
	return s.best + math.Log(s.sum)
}

// logTotal is the logarithm of the sum of numbers given by their logarithms; -Inf for none. NaN counts for nothing.
func logTotal(ls []float64) float64 {
	best := math.Inf(-1)
	for _, l := range ls {
		if l > best {
			best = l
		}
	}
	if math.IsInf(best, -1) {
		return best
	}
	sum := 0.0
	for _, l := range ls {
		if l > best-40 {
			sum += math.Exp(l - best)
		}
	}
	return best + math.Log(sum)
}
