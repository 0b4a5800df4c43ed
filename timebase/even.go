package timebase

import (
	"math"
	"slices"
)

// sameTime is the share of a step that stamps may be off even ones and count as even.
const sameTime = 1e-3

// EvenTimes returns when the pictures were taken if the camera took them evenly and its stamps stray
// or were rounded: a straight line by least squares through the stamps over the frames' numbers, where a step
// near a whole multiple of the usual one counts for so many frames (s, one per frame, by the clock of the
// stamps). It is nil if the stamps are even, or no
// clip's own.
func (b *Base) EvenTimes() []float64 {
	if b.Basis != Container || len(b.Stamps) < 3 {
		return nil
	}
	t := make([]float64, len(b.Stamps))
	steps := make([]float64, 0, len(t))
	for i, s := range b.Stamps {
		t[i], _ = s.Float64()
		if i > 0 {
			steps = append(steps, t[i]-t[i-1])
		}
	}
	slices.Sort(steps)
	usual := steps[len(steps)/2]
	number := make([]float64, len(t))
	var n, x, y, xx, xy float64
	for i := range t {
		if i > 0 {
			number[i] = number[i-1] + math.Max(1, math.Round((t[i]-t[i-1])/usual))
		}
		n, x, y, xx, xy = n+1, x+number[i], y+t[i], xx+number[i]*number[i], xy+number[i]*t[i]
	}
	slope := (xy - x*y/n) / (xx - x*x/n)
	var most float64
	for i := range t {
		even := y/n + slope*(number[i]-x/n)
		most, t[i] = math.Max(most, math.Abs(even-t[i])), even
	}
	if most < sameTime*usual {
		return nil
	}
	return t
}
