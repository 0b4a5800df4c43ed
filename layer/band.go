package layer

import (
	"math"
	"slices"
)

// Band is the flight band of a clip. Cell (r, c) of a frame is the mean brightness, levels of an
// 8-bit picture, of a square of Step by Step px about the place S0 + r*Step px along the flight
// line, from the traced point's place at rest, and (c - (Cols-1)/2)*Step px across it, to the left
// of the way. It is NaN where the frame does not show it.
type Band struct {
	Step       float64 // px
	S0         float64 // px
	Rows, Cols int
	Frames     []Frame // in order of time
}

// Frame is the band in one frame.
type Frame struct {
	Index int
	T     float64   // s
	Pix   []float32 // Rows by Cols
}

// row is the row, not rounded, of the place s px along the line.
func (b *Band) row(s float64) float64 { return (s - b.S0) / b.Step }

// column is the column, not rounded, of the place c px across the line.
func (b *Band) column(c float64) float64 { return c/b.Step + float64(b.Cols-1)/2 }

// place is the reverse of row and column.
func (b *Band) place(row, col float64) (s, c float64) {
	return b.S0 + row*b.Step, (col - float64(b.Cols-1)/2) * b.Step
}

// usual is the median of each cell over some frames; NaN where none shows it.
func (b *Band) usual(frames []int) []float32 {
	out := make([]float32, b.Rows*b.Cols)
	v := make([]float32, 0, len(frames))
	for k := range out {
		v = v[:0]
		for _, i := range frames {
			if x := b.Frames[i].Pix[k]; x == x {
				v = append(v, x)
			}
		}
		if out[k] = float32(math.NaN()); len(v) > 0 {
			out[k], _ = spread(v)
		}
	}
	return out
}

// saturated is the level from which a cell may have been brighter than it shows.
const saturated = 252

// even brings all frames to the gain and offset of the reference, so that exposure steps, lamps on
// mains and clouds before the sun do not matter.
func (b *Band) even(ref []float32) {
	for i := range b.Frames {
		pix := b.Frames[i].Pix
		l := light{gain: 1, within: float32(math.Inf(1))}
		for range lightRounds {
			l = l.fit(pix, ref)
		}
		for k, v := range pix {
			pix[k] = (v - l.offset) / l.gain
		}
	}
}

// light is a frame's gain and offset against a reference, and how far off the line a cell may lie
// that tells them.
type light struct{ gain, offset, within float32 }

const (
	lightRounds = 4
	leastCells  = 10  // that tell the light
	gainU       = 0.3 // standard uncertainty of a frame's gain before it is seen
	farOff      = 3.0 // standard deviations
)

// fit is a least-squares line of the frame's cells over the reference's, without those that lie more
// than three standard deviations off the line so far: the vehicle is one of them. A reference
// without contrast tells no gain; then it is 1.
func (l light) fit(pix, ref []float32) light {
	var n, sx, sy, sxx, sxy float64
	var off []float32
	for k, v := range pix {
		x := ref[k]
		if !(v <= saturated && x <= saturated) {
			continue
		}
		d := v - l.offset - l.gain*x
		off = append(off, max(d, -d))
		if d <= l.within && d >= -l.within {
			n, sx, sy, sxx, sxy = n+1, sx+float64(x), sy+float64(v), sxx+float64(x)*float64(x), sxy+float64(x)*float64(v)
		}
	}
	if n < leastCells {
		return light{gain: 1, within: l.within}
	}
	slices.Sort(off)
	noise := 1.4826 * float64(off[len(off)/2])
	ridge := max(1, noise*noise) / (gainU * gainU) // the prior counts as one observation of slope 1
	slope := (sxy - sx*sy/n + ridge) / (sxx - sx*sx/n + ridge)
	g := float32(min(max(slope, 0.2), 5))
	return light{gain: g, offset: float32(sy/n) - g*float32(sx/n), within: float32(farOff*noise + 1)}
}
