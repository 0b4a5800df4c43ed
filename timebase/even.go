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
// clip's own. Where the camera's rate drifts, they lie on parabolas
// through the frames around each.
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
	even := make([]float64, len(t))
	var most, sq, steady float64
	for i := range t {
		even[i] = y/n + slope*(number[i]-x/n)
		d := t[i] - even[i]
		most, sq = math.Max(most, math.Abs(d)), sq+d*d
		if i > 0 {
			e := d - (t[i-1] - even[i-1])
			steady += e * e / 2
		}
	}
	switch {
	case most < sameTime*usual:
		return nil
	case steady < driftShare*sq:
		return smoothed(number, t)
	}
	return even
}

// driftShare: what stamps stray by is white if half of the mean square of its steps is the mean square of
// itself (von Neumann, Ann. Math. Stat. 12 (1941) 367); below this share of it the camera's rate drifts.
const driftShare = 0.6

// smoothSide is how many frames to either side a rate that drifts is taken for even over.
const smoothSide = 10

// smoothed are the values at each frame of parabolas through its neighbours, by least squares (Cramer's
// rule on the normal equations, numbers counted from the frame).
func smoothed(number, t []float64) []float64 {
	out := make([]float64, len(t))
	for i := range t {
		lo, hi := max(0, i-smoothSide), min(len(t), i+smoothSide+1)
		var m [5]float64 // sums of powers of the number
		var y [3]float64 // of those times t
		for j := lo; j < hi; j++ {
			d, p := number[j]-number[i], 1.0
			for k := range m {
				m[k] += p
				if k < 3 {
					y[k] += p * t[j]
				}
				p *= d
			}
		}
		det := func(a, b, c [3]float64) float64 {
			return a[0]*(b[1]*c[2]-b[2]*c[1]) - b[0]*(a[1]*c[2]-a[2]*c[1]) + c[0]*(a[1]*b[2]-a[2]*b[1])
		}
		one, two, three := [3]float64(m[:3]), [3]float64(m[1:4]), [3]float64(m[2:5])
		out[i] = det(y, two, three) / det(one, two, three)
	}
	return out
}
