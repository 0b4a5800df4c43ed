package scene

import (
	"math"
	"testing"
)

// A row of noise is the noise of its places, one by one.
func TestNoiseByRows(t *testing.T) {
	t.Parallel()
	const tolRow = 1e-9 // rounding, of places far from 0
	n := newNoise(7)
	for _, c := range [][4]float64{{-3.7, 0.031, 12.3, 0.1}, {250.2, 0.4, -1, 0.5}, {0, 1, 0, 1}, {-1e4, 2.3, 511.9, 3}} {
		x, step, y, finest := c[0], c[1], c[2], c[3]
		row, fractal := make([]float64, 300), make([]float64, 300)
		n.row(row, x, step, y, 0.8)
		n.fractalRow(fractal, x, step, y, finest, 4)
		for i := range row {
			at := x + float64(i)*step
			if want := 0.8 * n.at(at, y); math.Abs(row[i]-want) > tolRow {
				t.Fatalf("row from %g by %g: place %d = %.12f, want %.12f", x, step, i, row[i], want)
			}
			if want := n.fractal(at, y, finest, 4); math.Abs(fractal[i]-want) > tolRow {
				t.Fatalf("fractal row from %g by %g: place %d = %.12f, want %.12f", x, step, i, fractal[i], want)
			}
		}
	}
}
