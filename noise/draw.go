package noise

import "math/rand/v2"

// Draw returns one draw of the process of the hypothesis, of variance Size^2, at rising places
// along, in correlation lengths. It takes the same numbers from r whatever the hypothesis.
func (h Hypothesis) Draw(along []float64, r *rand.Rand) []float64 {
	out := make([]float64, len(along))
	var s State
	for k := range along {
		z := State{r.NormFloat64(), r.NormFloat64()}
		if k == 0 {
			s = z
		} else {
			step := h.Step(max(0, along[k]-along[k-1]))
			a, b := step.Kicks()
			s = step.On(s)
			s[0], s[1] = s[0]+a[0]*z[0], s[1]+a[1]*z[0]+b[1]*z[1]
		}
		out[k] = h.Size * s[0]
	}
	return out
}

// Pick draws a hypothesis from a list by its prior probability.
func Pick(list []Hypothesis, r *rand.Rand) Hypothesis {
	x := r.Float64()
	for _, h := range list {
		if x -= h.Prior; x < 0 {
			return h
		}
	}
	return list[len(list)-1]
}
