package timebase

import (
	"math"
	"slices"
)

// sameTime is the share of a step that stamps may be off steady ones and count as such.
const sameTime = 1e-3

// Even is when the pictures were taken if the camera took them at a steady rate, and its stamps
// stray or were rounded.
type Even struct {
	Times []float64 // s, one per frame, by the clock of the stamps
	U     float64   // s, standard uncertainty of them, which neighbouring frames share
}

// EvenTimes smooths the stamps of a clip, by the frames' numbers, where a step near a whole
// multiple of the usual one counts for so many frames. It is nil if the stamps are steady, or no
// clip's own. See drift for what a steady rate is.
func (b *Base) EvenTimes() *Even {
	if b.Basis != Container || len(b.Stamps) < 3 {
		return nil
	}
	t := make([]float64, len(b.Stamps))
	for i, s := range b.Stamps {
		t[i], _ = s.Float64()
	}
	d, usual := newDrift(t)
	even := d.smoothed()
	for i := range t {
		if math.Abs(t[i]-even.Times[i]) >= sameTime*usual {
			return even
		}
	}
	return nil
}

// numbered returns the number of each frame, where frames missing between stamps t count, and the
// median step, s. A step is longer by whole frames where it is so itself and the means of gapSide
// stamps to either side are too far apart by half a step, and by gapOff times what steps scatter
// by: a stamp that strays is no gap.
func numbered(t []float64) (number []float64, usual float64) {
	steps, scatter := make([]float64, len(t)-1), make([]float64, len(t)-1)
	for i := range steps {
		steps[i] = t[i+1] - t[i]
	}
	near := func(i int) float64 { return usualStep(steps[max(0, i-usualSide):min(len(steps), i+usualSide+1)]) }
	for i, s := range steps {
		scatter[i] = math.Abs(s/near(i) - 1)
	}
	least := math.Max(0.5, gapOff*middle(scatter))
	number = make([]float64, len(t))
	for i := 1; i < len(t); i++ {
		number[i] = number[i-1] + 1
		usual := near(i - 1)
		if math.Round(steps[i-1]/usual) < 2 {
			continue
		}
		k := min(gapSide, i, len(t)-i)
		var apart float64 // of the means of k stamps to either side: k steps
		for j := range k {
			apart += (t[i+j] - t[i-1-j]) / float64(k)
		}
		if more := apart/usual - float64(k); more > least*math.Sqrt(gapSide/float64(k)) {
			number[i] += math.Max(1, math.Round(more))
		}
	}
	return number, middle(steps)
}

// gapSide and usualSide are how many frames to either side tell of a gap, and of the usual step
// about it. gapOff times the median size of what steps scatter by is 4.7 standard deviations of
// what the means are apart by (normal: the median is 0.67 of a step's standard deviation, that of
// the means is 1/sqrt(3) of it; derived).
const (
	gapSide   = 3
	usualSide = 15
	gapOff    = 4.0
)

// usualStep is the mean of the steps within half of their median about it: what strays does so to
// both sides.
func usualStep(steps []float64) float64 {
	m := middle(steps)
	var sum, n float64
	for _, s := range steps {
		if math.Abs(s-m) <= m/2 {
			sum, n = sum+s, n+1
		}
	}
	return sum / n
}

// middle is the median; the larger of the two middle ones of an even number.
func middle(x []float64) float64 {
	x = slices.Clone(x)
	slices.Sort(x)
	return x[len(x)/2]
}
