package footage

import "testing"

// TestWindowRepeatsTheBorder holds Window against At, pixel by pixel, inside, across every
// border and wholly outside. Both are exact: powers of two scale without rounding.
func TestWindowRepeatsTheBorder(t *testing.T) {
	t.Parallel()
	const width, height = 7, 5
	deep := &Luma{Width: width, Height: height, Depth: 12, Pix16: make([]uint16, width*height)}
	flat := &Luma{Width: width, Height: height, Depth: 8, Pix8: make([]uint8, width*height)}
	for i := range deep.Pix16 {
		deep.Pix16[i], flat.Pix8[i] = uint16(100*i+7), uint8(7*i)
	}
	for _, l := range []*Luma{deep, flat} {
		for _, a := range [][4]int{{1, 1, 3, 2}, {-2, -3, 12, 11}, {-9, 2, 4, 1}, {8, -4, 3, 2}, {6, 4, 1, 1}, {0, 0, width, height}} {
			got := l.Window(a[0], a[1], a[2], a[3], nil)
			for j := range a[3] {
				for i := range a[2] {
					x, y := min(max(a[0]+i, 0), width-1), min(max(a[1]+j, 0), height-1)
					if want := float32(l.At(x, y)); got[j*a[2]+i] != want {
						t.Errorf("depth %d: Window(%v) at (%d, %d) = %g, want %g", l.Depth, a, i, j, got[j*a[2]+i], want)
					}
				}
			}
		}
	}
	if got, want := deep.At(1, 0), 107.0/16; got != want {
		t.Errorf("At(1, 0) of 12 bits = %g, want %g", got, want)
	}
}
