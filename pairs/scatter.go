package pairs

import (
	"math"

	"padside/fit"
)

// fewestScatter is how many places, each with two on either side, tell how much places scatter.
const fewestScatter = 8

// scattered is the factor on the stated uncertainties that the places in flight show: the median of how far each lies off the cubic through the two places on
// either side of it, over what that should be; 1 where it is not beyond chance, one standard deviation of the median, or too few places tell. A
// smooth motion has no part in it, an event (thrust ends) touches few of them.
func (s *survey) scattered() float64 {
	var off []float64
	p := s.Places
	for i := max(2, s.moving+1); i+2 < len(p); i++ {
		at := [4]int{i - 2, i - 1, i + 1, i + 2}
		r, v := p[i].H, square(p[i].U)
		for _, j := range at {
			w := 1.0 // Lagrange's weight of place j at the time of place i
			for _, k := range at {
				if k != j {
					w *= (p[i].T - p[k].T) / (p[j].T - p[k].T)
				}
			}
			speed := (p[i+1].H - p[i-1].H) / (p[i+1].T - p[i-1].T)
			r, v = r-w*p[j].H, v+w*w*(square(p[j].U)+square(speed*p[j].UT))
		}
		off = append(off, math.Abs(r)/math.Sqrt(v))
	}
	if len(off) < fewestScatter {
		return 1
	}
	const quartile = 0.6745 // of the normal distribution: the median of its size
	return math.Max(1, fit.Median(off)/quartile/(1+1/math.Sqrt(float64(len(off)))))
}

func square(x float64) float64 { return x * x }
