package layer

import "math"

// Band is the flight band of a clip. Cell (r, c) of a frame is the mean brightness, levels of an
// 8-bit picture, of a square of Step by Step px about the place S0 + r*Step px along the flight
// line, from the traced point's place at rest, and C0 + (c - (Cols-1)/2)*Step px across it, to the
// left of the way. It is NaN where the frame does not show it.
type Band struct {
	Step       float64 // px
	S0, C0     float64 // px
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
func (b *Band) column(c float64) float64 { return (c-b.C0)/b.Step + float64(b.Cols-1)/2 }

// place is the reverse of row and column.
func (b *Band) place(row, col float64) (s, c float64) {
	return b.S0 + row*b.Step, b.C0 + (col-float64(b.Cols-1)/2)*b.Step
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
			out[k] = middle(v)
		}
	}
	return out
}

// saturated is the level from which a cell may have been brighter than it shows.
const saturated = 252
