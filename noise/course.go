package noise

import "math"

// Course is what correlated errors of one flight go along: rising times, and the way, which is the
// greatest height up to each of them. The flight begins at the instant of index Moving.
type Course struct {
	T, Way []float64
	Moving int
}

// NewCourse makes that of heights h at rising times t, the first in flight being moving.
func NewCourse(t, h []float64, moving int) Course {
	c := Course{T: t, Way: make([]float64, len(h)), Moving: moving}
	top := math.Inf(-1)
	for i := range h {
		top = math.Max(top, h[i])
		c.Way[i] = top
	}
	return c
}

// At is where instant i lies along the process of a hypothesis, in correlation lengths from the
// beginning of the flight. A flight without extent has one place.
func (c *Course) At(h Hypothesis, i int) float64 {
	s := c.T
	if h.Way {
		s = c.Way
	}
	length := h.Length * (s[len(s)-1] - s[c.Moving])
	if !(length > 0) {
		return 0
	}
	return (s[i] - s[c.Moving]) / length
}

// Along is At of all instants.
func (c *Course) Along(h Hypothesis) []float64 {
	out := make([]float64, len(c.T))
	for i := range out {
		out[i] = c.At(h, i)
	}
	return out
}
