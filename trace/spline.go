package trace

import "math"

// Quintic B-spline interpolation of a window of the picture.
//
// A sampled picture f is the sum over grid points of c[k] times the quintic B-spline
// beta5(x-k), whose coefficients c follow from f by a recursive filter with two poles per
// axis; the spline passes through every sample. Of the interpolators of this cost it
// has the least bias for sub-pixel matching (Schreier, Braasch & Sutton, Opt. Eng. 39:2915,
// 2000); bench/subpixel prints ours. Sources: Unser, Aldroubi & Eden, IEEE Trans. Signal
// Process. 41:821 and 834 (1993); Unser, IEEE Signal Process. Mag. 16(6):22 (1999).

// poles of the quintic B-spline's inverse filter: roots of
// z^4 + 26 z^3 + 66 z^2 + 26 z + 1 inside the unit circle.
const (
	pole1 = -0.43057534709997379
	pole2 = -0.043096288203264653
)

// splineGain is the product over the poles of (1-z)(1-1/z), which makes the filter keep
// a constant picture.
const splineGain = (1 - pole1) * (1 - 1/pole1) * (1 - pole2) * (1 - 1/pole2)

// tableSteps is how finely the basis is tabulated: a place is rounded to 1/2048 px, which moves
// any one sample by less than 0.00025 px and, over the many pixels of a patch, the match by far less.
const tableSteps = 2048

// basis holds the six weights of the quintic B-spline for fractions 0 to 1.
type basis [tableSteps + 1][6]float32

// newBasis tabulates the weights of grid points -2..3 at fraction t past point 0.
func newBasis() *basis {
	var b basis
	for i := range b {
		b[i] = quintic(float64(i) / tableSteps)
	}
	return &b
}

// quintic returns beta5 at t+2, t+1, t, t-1, t-2, t-3, for 0 <= t <= 1, from its definition as
// a difference of truncated powers: beta5(x) = sum over k of (-1)^k C(6,k) (x+3-k)+^5 / 120.
func quintic(t float64) (w [6]float32) {
	choose := [7]float64{1, -6, 15, -20, 15, -6, 1}
	for j := range w {
		x := math.Abs(t + 2 - float64(j))
		sum := 0.0
		for k, c := range choose {
			// The right half of a symmetric function, mirrored: fewer terms cancel.
			if d := 3 - x - float64(k); d > 0 {
				sum += c * d * d * d * d * d
			}
		}
		w[j] = float32(sum / 120)
	}
	return w
}

// spline is a window of the picture made ready for interpolation. (0, 0) is the centre of its top left pixel.
type spline struct {
	w, h  int
	c     []float32
	basis *basis
	line  []float32
}

// set filters the w by h samples of pix, which it leaves as they are.
func (s *spline) set(pix []float32, w, h int) {
	s.w, s.h = w, h
	s.c = grow(s.c, w*h)
	copy(s.c, pix[:w*h])
	for y := range h {
		row := s.c[y*w : (y+1)*w]
		filterLine(row, pole1)
		filterLine(row, pole2)
	}
	s.filterColumns(pole1)
	s.filterColumns(pole2)
	const gain = float32(splineGain * splineGain)
	for i := range s.c {
		s.c[i] *= gain
	}
}

// reach is how far the start of the recursion looks: 0.43^18 is below a float32's resolution.
const reach = 18

// filterLine applies 1/((1-z q)(1-z/q)) without its gain, mirrored at both ends.
func filterLine(c []float32, z float32) {
	n := len(c)
	sum, p := c[0], z
	for k := 1; k < min(n, reach); k++ {
		sum += p * c[k]
		p *= z
	}
	c[0] = sum
	for k := 1; k < n; k++ {
		c[k] += z * c[k-1]
	}
	if n > 1 {
		c[n-1] = z / (z*z - 1) * (c[n-1] + z*c[n-2])
	}
	for k := n - 2; k >= 0; k-- {
		c[k] = z * (c[k+1] - c[k])
	}
}

// filterColumns does the same to every column, row by row so that memory is read in order.
func (s *spline) filterColumns(z float32) {
	w, h := s.w, s.h
	s.line = grow(s.line, w)
	line := s.line
	copy(line, s.c[:w])
	p := z
	for k := 1; k < min(h, reach); k++ {
		for x, v := range s.c[k*w : (k+1)*w] {
			line[x] += p * v
		}
		p *= z
	}
	copy(s.c[:w], line)
	for y := 1; y < h; y++ {
		above, row := s.c[(y-1)*w:y*w], s.c[y*w:(y+1)*w]
		for x := range row {
			row[x] += z * above[x]
		}
	}
	if h > 1 {
		above, row := s.c[(h-2)*w:(h-1)*w], s.c[(h-1)*w:]
		k := z / (z*z - 1)
		for x := range row {
			row[x] = k * (row[x] + z*above[x])
		}
	}
	for y := h - 2; y >= 0; y-- {
		below, row := s.c[(y+1)*w:(y+2)*w], s.c[y*w:(y+1)*w]
		for x := range row {
			row[x] = z * (below[x] - row[x])
		}
	}
}

// holds tells whether the spline can be evaluated at (x, y) with all its grid points inside.
func (s *spline) holds(x, y float64) bool {
	return x >= 2 && y >= 2 && x < float64(s.w-4) && y < float64(s.h-4)
}

// at interpolates at (x, y), which the window must hold.
func (s *spline) at(x, y float32) float32 {
	ix, iy := int(x), int(y)
	wx := &s.basis[int((x-float32(ix))*tableSteps+0.5)]
	wy := &s.basis[int((y-float32(iy))*tableSteps+0.5)]
	o := (iy-2)*s.w + ix - 2
	var sum float32
	for j := range 6 {
		r := s.c[o : o+6 : o+6]
		sum += wy[j] * (wx[0]*r[0] + wx[1]*r[1] + wx[2]*r[2] + wx[3]*r[3] + wx[4]*r[4] + wx[5]*r[5])
		o += s.w
	}
	return sum
}

// Values and derivatives of the basis at whole grid points: beta5(0..2) and beta5'(0..2).
const (
	atZero, atOne, atTwo = 66.0 / 120, 26.0 / 120, 1.0 / 120
	slopeOne, slopeTwo   = -50.0 / 120, -5.0 / 120
)

// gradient returns the spline's exact derivatives at grid point (x, y), two or more from the border.
func (s *spline) gradient(x, y int) (gx, gy float32) {
	value := [5]float32{atTwo, atOne, atZero, atOne, atTwo}
	// The derivative of the sum of c[k] beta5(x-k) at a grid point weighs c[x+d] by beta5'(-d).
	slope := [5]float32{slopeTwo, slopeOne, 0, -slopeOne, -slopeTwo}
	for j := range 5 {
		o := (y+j-2)*s.w + x - 2
		var v, d float32
		for i, c := range s.c[o : o+5] {
			v += value[i] * c
			d += slope[i] * c
		}
		gx += value[j] * d
		gy += slope[j] * v
	}
	return gx, gy
}

// grow returns a slice of length n, b's own memory where that suffices.
func grow[T any](b []T, n int) []T {
	if cap(b) < n {
		return make([]T, n)
	}
	return b[:n]
}
