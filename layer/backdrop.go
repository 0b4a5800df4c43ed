package layer

import (
	"slices"
)

// backdrop is what lies behind the flight, cell by cell, and how it varies from frame to frame:
// leaves, flags and people make it vary, and such cells tell little.
type backdrop struct {
	mean, variance []float32 // levels, levels^2; NaN where never seen
}

// leastVariance is the variance of a cell, levels^2, that samples of whole levels hide.
const leastVariance = 0.1

// seen is the number of frames a cell's background is taken from at most: the last ones before the
// vehicle comes, for light and clouds move on.
const seen = 24

// learn takes each cell's background from the frames before the vehicle reaches it, or after it has
// left, if it was there from the beginning. front and back are the rows of the vehicle's two ends
// in each frame, NaN where they are not known: such frames tell of no cell.
func (b *Band) learn(front, back []float64, noise float32) *backdrop {
	n := b.Rows * b.Cols
	d := &backdrop{mean: make([]float32, n), variance: make([]float32, n)}
	before, after := make([]int, 0, len(b.Frames)), make([]int, 0, len(b.Frames))
	var v []float32
	for r := range b.Rows {
		before, after = before[:0], after[:0]
		for i := range b.Frames {
			switch {
			case front[i] != front[i]:
			case front[i] < float64(r)-clearance:
				before = append(before, i)
			case back[i] > float64(r)+clearance:
				after = append(after, i)
			}
		}
		use := before[max(0, len(before)-seen):]
		extra := float32(0)
		if len(use) < 3 {
			use = after[max(0, len(after)-seen):] // the latest: smoke has gone by then, if it goes
			extra = 100
		}
		for c := range b.Cols {
			k := r*b.Cols + c
			v = v[:0]
			for _, i := range use {
				if x := b.Frames[i].Pix[k]; x == x {
					v = append(v, x)
				}
			}
			d.mean[k], d.variance[k] = spread(v)
			d.variance[k] += leastVariance + noise*noise + extra
			if len(v) < 3 {
				d.mean[k], d.variance[k] = anyLight, anyVariance
			}
		}
	}
	return d
}

// anyLight and anyVariance are what is known of light of which nothing is known, levels and
// levels^2.
const anyLight, anyVariance = 128, 60 * 60

// clearance is how many rows beyond the vehicle its blur, shadow or spray may reach.
const clearance = 2.0

// spread is the median of v and the square of its scatter, from the median of what lies off it. It
// sorts v.
func spread(v []float32) (middle, variance float32) {
	if len(v) == 0 {
		return 0, 0
	}
	slices.Sort(v)
	middle = v[len(v)/2]
	for i := range v {
		v[i] = max(v[i]-middle, middle-v[i])
	}
	slices.Sort(v)
	s := 1.4826 * v[len(v)/2]
	return middle, s * s
}
