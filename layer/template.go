package layer

import (
	"math"
)

// template is how the vehicle looks: H by W cells about the traced point, which lies at cell
// (Row, Col). A cell shows alpha*light + (1 - alpha)*background.
type template struct {
	H, W     int
	Row, Col int
	alpha    []float32
	light    []float32 // levels
	variance []float32 // levels^2, by which the vehicle's own light varies
	doubt    []float32 // variance of alpha: whether the cell is the vehicle's is not sure
}

// Extent is the part of the picture, px from the traced point, in which the vehicle is looked for
// at first: Ahead and Behind along the flight line, Aside to either side.
type Extent struct{ Ahead, Behind, Aside float64 }

// margin is how many cells about the stated extent the vehicle may take up.
const margin = 2

// newTemplate is an empty template that reaches so many cells from the traced point.
func newTemplate(behind, ahead, aside int) *template {
	t := &template{H: behind + ahead + 1, W: 2*aside + 1, Row: behind, Col: aside}
	n := t.H * t.W
	t.alpha, t.light, t.variance, t.doubt = make([]float32, n), make([]float32, n), make([]float32, n), make([]float32, n)
	for k := range t.variance {
		t.variance[k] = 1
	}
	return t
}

// templateOf is an empty template of an extent with a margin about it.
func templateOf(e Extent, step float64) *template {
	cells := func(px float64) int { return int(math.Ceil(px/step)) + margin }
	return newTemplate(cells(e.Behind), cells(e.Ahead), cells(e.Aside))
}

// inside tells whether cell k belongs to the extent, or to the margin about it.
func (t *template) inside(k int) bool {
	r, c := k/t.W, k%t.W
	return r >= margin && c >= margin && r < t.H-margin && c < t.W-margin
}

// scaled is the template seen larger by a factor.
func (t *template) scaled(f float64) *template {
	if math.Abs(f-1)*float64(max(t.H, t.W)) < 1 {
		return t
	}
	cells := func(n int) int { return int(math.Ceil(float64(n) * f)) }
	out := newTemplate(cells(t.Row), cells(t.H-1-t.Row), cells(t.Col))
	for k := range out.alpha {
		r := int(math.Round(float64(k/out.W-out.Row)/f)) + t.Row
		c := int(math.Round(float64(k%out.W-out.Col)/f)) + t.Col
		if r >= 0 && r < t.H && c >= 0 && c < t.W {
			q := r*t.W + c
			out.alpha[k], out.light[k], out.variance[k], out.doubt[k] = t.alpha[q], t.light[q], t.variance[q], t.doubt[q]
		}
	}
	return out
}

// leastDrawn is the number of cells from which what moves is drawn out at all.
const leastDrawn = 0.7

// blurred is the template drawn out over n cells along the flight, which is how a vehicle looks
// that moves by so much during the exposure: each cell shows the mean of those that pass it.
func (t *template) blurred(n float64) *template {
	if n < leastDrawn {
		return t
	}
	half := int(math.Ceil(n / 2))
	weight, sum := make([]float32, 2*half+1), float32(0)
	for q := range weight {
		weight[q] = float32(min(1, max(0, n/2+0.5-math.Abs(float64(q-half)))))
		sum += weight[q]
	}
	out := newTemplate(t.Row+half, t.H-1-t.Row+half, t.Col)
	for k := range out.alpha {
		r, c := k/out.W-half, k%out.W
		var a, l, v, d float32
		for q, w := range weight {
			if s := r - half + q; s >= 0 && s < t.H {
				i := s*t.W + c
				a, l, v, d = a+w*t.alpha[i], l+w*t.alpha[i]*t.light[i], v+w*t.alpha[i]*t.variance[i], d+w*t.doubt[i]
			}
		}
		if a > 0 {
			out.alpha[k], out.light[k], out.variance[k], out.doubt[k] = a/sum, l/a, v/a, d/sum
		}
	}
	return out
}

// cell is a cell of the template that is the vehicle's to some part, dr rows and dc columns from
// the traced point.
type cell struct {
	dr, dc       int
	alpha, light float32
	variance     float32 // alpha times the vehicle's
	doubt        float32
}

const (
	// leastAlpha is the vehicle's share of a cell from which it is compared.
	leastAlpha = 0.1
	// mostCells bounds the cells compared at each place.
	mostCells = 100
)

// cells lists those that tell, thinned out evenly where they are many.
func (t *template) cells() []cell {
	var out []cell
	for k, a := range t.alpha {
		if a > leastAlpha {
			out = append(out, cell{k/t.W - t.Row, k%t.W - t.Col, a, t.light[k], a * t.variance[k], t.doubt[k]})
		}
	}
	if n := len(out); n > mostCells {
		for i := range mostCells {
			out[i] = out[i*n/mostCells]
		}
		out = out[:mostCells]
	}
	return out
}
