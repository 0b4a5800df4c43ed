package register

import "math"

// Field is how a patch looks, blurred or not: its values and slopes at each of its pixels, and
// those of the background's share, levels and levels/px. Its slices are W by H, without the margin.
type Field struct {
	T, GX, GY            []float32
	beta, slopeX, slopeY []float32 // nil: the background is unknown
}

// LeastBlur is the length, px, from which a picture is drawn out at all.
const LeastBlur = 0.05

// Looks makes the field of the patch blurred over (bx, by) pixels.
func (p *Patch) Looks(b *Basis, bx, by float64) *Field {
	W, H := p.W+2*Margin, p.H+2*Margin
	sp := &Spline{basis: b}
	pix := p.Pix
	if p.Beta != nil {
		pix = make([]float32, len(p.Pix))
		for k, t := range p.Pix {
			pix[k] = t - p.Beta[k]*p.B0[k]
		}
	}
	set := func(pix []float32) {
		sp.Set(pix, W, H)
		if math.Hypot(bx, by) > LeastBlur {
			sp.Set(Blurred(sp, bx, by), W, H)
		}
	}
	set(pix)
	f := NewField(sp, p.W, p.H)
	if p.Beta != nil {
		set(p.Beta)
		f.beta, f.slopeX, f.slopeY = sp.Derivatives(Margin, Margin, p.W, p.H)
	}
	return f
}

// NewField is that of a patch of w by h pixels, of which sp holds the margin too.
func NewField(sp *Spline, w, h int) *Field {
	f := &Field{}
	f.T, f.GX, f.GY = sp.Derivatives(Margin, Margin, w, h)
	return f
}

// Values and derivatives of the basis at whole grid points: beta5(0..2) and beta5'(0..2).
const (
	atZero, atOne, atTwo = 66.0 / 120, 26.0 / 120, 1.0 / 120
	slopeOne, slopeTwo   = -50.0 / 120, -5.0 / 120
)

// Derivatives returns the spline's values and exact derivatives at the w by h grid points from (x,
// y); all lie two or more from the border.
func (s *Spline) Derivatives(x, y, w, h int) (value, gx, gy []float32) {
	out := make([]float32, 3*w*h)
	value, gx, gy = out[:w*h:w*h], out[w*h:2*w*h:2*w*h], out[2*w*h:]
	// Along each row first, then down. The derivative of the sum of c[k] beta5(x-k) weighs c[x+d]
	// by beta5'(-d).
	rows := make([]float32, 2*w*(h+4))
	even, odd := rows[:w*(h+4)], rows[w*(h+4):]
	for j := range h + 4 {
		c := s.c[(y+j-2)*s.W+x-2:][:w+4]
		e, o := even[j*w:][:w], odd[j*w:][:w]
		for i := range e {
			e[i] = atTwo*(c[i]+c[i+4]) + atOne*(c[i+1]+c[i+3]) + atZero*c[i+2]
			o[i] = slopeTwo*(c[i]-c[i+4]) + slopeOne*(c[i+1]-c[i+3])
		}
	}
	for k := range value {
		value[k] = atTwo*(even[k]+even[k+4*w]) + atOne*(even[k+w]+even[k+3*w]) + atZero*even[k+2*w]
		gx[k] = atTwo*(odd[k]+odd[k+4*w]) + atOne*(odd[k+w]+odd[k+3*w]) + atZero*odd[k+2*w]
		gy[k] = slopeTwo*(even[k]-even[k+4*w]) + slopeOne*(even[k+w]-even[k+3*w])
	}
	return value, gx, gy
}

// Blurred averages the spline over a straight stretch (bx, by) centred on each pixel: what the
// exposure does to what moves evenly. Steps are shorter than a pixel. Beyond the window its border
// is repeated.
//
// The average of interpolations at fixed distances is one sum over coefficients around the pixel,
// whose weights are the same everywhere.
func Blurred(sp *Spline, bx, by float64) []float32 {
	n := int(math.Ceil(1.3*math.Hypot(bx, by))) + 1
	hx, hy := int(math.Ceil(math.Abs(bx)/2)), int(math.Ceil(math.Abs(by)/2))
	rx, ry := hx+3, hy+3 // coefficients reached to either side
	wide := 2*rx + 1
	kernel := make([]float32, wide*(2*ry+1))
	place := func(j int) (dx, dy float64) {
		f := (float64(j)+0.5)/float64(n) - 0.5
		return f * bx, f * by
	}
	for j := range n {
		dx, dy := place(j)
		ix, iy := int(math.Floor(dx)), int(math.Floor(dy))
		wx, wy := quintic(dx-float64(ix)), quintic(dy-float64(iy))
		for k, v := range wy {
			for i, u := range wx {
				kernel[(iy+k-2+ry)*wide+ix+i-2+rx] += u * v / float32(n)
			}
		}
	}
	out := make([]float32, sp.W*sp.H)
	for y := range sp.H {
		for x := 0; x < sp.W; x++ {
			if x == hx+2 && y >= hy+2 && y < sp.H-hy-4 && x < sp.W-hx-4 {
				x = sp.W - hx - 4 // what lies between reaches no border
			}
			for j := range n {
				dx, dy := place(j)
				sx := min(max(float64(x)+dx, 2), float64(sp.W)-4.01)
				sy := min(max(float64(y)+dy, 2), float64(sp.H)-4.01)
				out[y*sp.W+x] += sp.At(float32(sx), float32(sy)) / float32(n)
			}
		}
	}
	for y := hy + 2; y < sp.H-hy-4; y++ {
		row := out[y*sp.W:][hx+2 : max(hx+2, sp.W-hx-4)]
		for k, weight := range kernel {
			if weight == 0 {
				continue
			}
			c := sp.c[(y+k/wide-ry)*sp.W+hx+2+k%wide-rx:][:len(row)]
			for i, v := range c {
				row[i] += weight * v
			}
		}
	}
	return out
}
