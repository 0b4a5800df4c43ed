package register

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

// tableSteps is how finely the basis is tabulated: a place is rounded to 1/2048 px, which moves any
// one sample by less than 0.00025 px and, over the many pixels of a patch, the match by far less.
const tableSteps = 2048

// Basis holds the six weights of the quintic B-spline for fractions 0 to 1.
type Basis [tableSteps + 1][6]float32

// NewBasis tabulates the weights of grid points -2..3 at fraction t past point 0.
func NewBasis() *Basis {
	var b Basis
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

// Spline is a window of the picture made ready for interpolation. (0, 0) is the centre of its top
// left pixel.
type Spline struct {
	W, H  int       // px
	c     []float32 // coefficients, row by row
	basis *Basis
	line  []float32 // working memory of filterColumns
}

// NewSpline makes the w by h samples of pix ready for interpolation.
func NewSpline(b *Basis, pix []float32, w, h int) *Spline {
	s := &Spline{basis: b}
	s.Set(pix, w, h)
	s.line = nil
	return s
}

// Set filters the w by h samples of pix, which it leaves as they are.
func (s *Spline) Set(pix []float32, w, h int) {
	s.W, s.H = w, h
	s.c = grow(s.c, w*h)
	copy(s.c, pix[:w*h])
	y := 0
	for ; y+4 <= h; y += 4 {
		filterFour(s.c[y*w:(y+4)*w], w, pole1)
		filterFour(s.c[y*w:(y+4)*w], w, pole2)
	}
	for ; y < h; y++ {
		filterLine(s.c[y*w:(y+1)*w], pole1)
		filterLine(s.c[y*w:(y+1)*w], pole2)
	}
	s.filterColumns(pole1)
	s.filterColumns(pole2)
	const gain = float32(splineGain * splineGain)
	for i := range s.c {
		s.c[i] *= gain
	}
}

// Reach is how far the start of the recursion looks: 0.43^18 is below a float32's resolution.
const Reach = 18

// filterLine applies 1/((1-z q)(1-z/q)) without its gain, mirrored at both ends.
func filterLine(c []float32, z float32) {
	n := len(c)
	sum, p := c[0], z
	for k := 1; k < min(n, Reach); k++ {
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

// filterFour does the same to four lines of n at once: each step of the recursion waits for the one
// before, so that four side by side take hardly longer than one.
func filterFour(c []float32, n int, z float32) {
	c0, c1, c2, c3 := c[:n:n], c[n:2*n:2*n], c[2*n:3*n:3*n], c[3*n:4*n:4*n]
	s0, s1, s2, s3 := c0[0], c1[0], c2[0], c3[0]
	p := z
	for k := 1; k < min(n, Reach); k++ {
		s0 += p * c0[k]
		s1 += p * c1[k]
		s2 += p * c2[k]
		s3 += p * c3[k]
		p *= z
	}
	c0[0], c1[0], c2[0], c3[0] = s0, s1, s2, s3
	for k := 1; k < n; k++ {
		s0, s1, s2, s3 = c0[k]+z*s0, c1[k]+z*s1, c2[k]+z*s2, c3[k]+z*s3
		c0[k], c1[k], c2[k], c3[k] = s0, s1, s2, s3
	}
	if n > 1 {
		end := z / (z*z - 1)
		s0, s1, s2, s3 = end*(s0+z*c0[n-2]), end*(s1+z*c1[n-2]), end*(s2+z*c2[n-2]), end*(s3+z*c3[n-2])
		c0[n-1], c1[n-1], c2[n-1], c3[n-1] = s0, s1, s2, s3
	}
	for k := n - 2; k >= 0; k-- {
		s0, s1, s2, s3 = z*(s0-c0[k]), z*(s1-c1[k]), z*(s2-c2[k]), z*(s3-c3[k])
		c0[k], c1[k], c2[k], c3[k] = s0, s1, s2, s3
	}
}

// filterColumns does the same to every column, row by row so that memory is read in order.
func (s *Spline) filterColumns(z float32) {
	w, h := s.W, s.H
	s.line = grow(s.line, w)
	line := s.line
	copy(line, s.c[:w])
	p := z
	for k := 1; k < min(h, Reach); k++ {
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

// Holds reports whether the spline can be evaluated at (x, y) with all its grid points inside.
func (s *Spline) Holds(x, y float64) bool {
	return x >= 2 && y >= 2 && x < float64(s.W-4) && y < float64(s.H-4)
}

// At interpolates at (x, y), which the window must hold.
func (s *Spline) At(x, y float32) float32 {
	ix, iy := int32(x), int32(y)
	wx := &s.basis[int32((x-float32(ix))*tableSteps+0.5)]
	wy := &s.basis[int32((y-float32(iy))*tableSteps+0.5)]
	o, w := int(iy-2)*s.W+int(ix-2), s.W
	x0, x1, x2, x3, x4, x5 := wx[0], wx[1], wx[2], wx[3], wx[4], wx[5]
	row := func(c []float32) float32 {
		r := (*[6]float32)(c)
		return (x0*r[0] + x1*r[1] + x2*r[2]) + (x3*r[3] + x4*r[4] + x5*r[5])
	}
	c := s.c[o : o+5*w+6]
	return (wy[0]*row(c) + wy[1]*row(c[w:])) + (wy[2]*row(c[2*w:]) + wy[3]*row(c[3*w:])) +
		(wy[4]*row(c[4*w:]) + wy[5]*row(c[5*w:]))
}

// grow returns a slice of length n, b's own memory where that suffices.
func grow[T any](b []T, n int) []T {
	if cap(b) < n {
		return make([]T, n)
	}
	return b[:n]
}
