package picture

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"math"

	"golang.org/x/image/draw"
)

// Spot is a point of a picture: px, x right, y down, the centre of the top left pixel at the
// origin. U is its standard uncertainty, px.
type Spot struct{ X, Y, U float64 }

// Overlay lays traces on a frame: each trace as a line, the spot of this frame between two
// short bars across it. Here is the index in Traces[i] of the frame shown, -1 for none.
type Overlay struct {
	Frame  image.Image
	Traces [][]Spot
	Here   []int
}

// PNG draws the frame with the traces on it.
func (o *Overlay) PNG() ([]byte, error) {
	b := o.Frame.Bounds()
	img := image.NewNRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(img, img.Bounds(), o.Frame, b.Min, draw.Src)
	stroke := math.Max(1.2, float64(b.Dx()+b.Dy())/900)
	for i, trace := range o.Traces {
		for k := 1; k < len(trace); k++ {
			segment(img, trace[k-1], trace[k], stroke, pen)
		}
		if i < len(o.Here) && o.Here[i] >= 0 && o.Here[i] < len(trace) {
			bars(img, trace, o.Here[i], stroke)
		}
	}
	var out bytes.Buffer
	if err := png.Encode(&out, img); err != nil {
		return nil, fmt.Errorf("encode picture: %w", err)
	}
	return out.Bytes(), nil
}

// bars marks the spot at index k by two bars at right angles to the trace, with the spot between them.
func bars(img *image.NRGBA, trace []Spot, k int, stroke float64) {
	first, last := trace[0], trace[len(trace)-1]
	dx, dy := last.X-first.X, last.Y-first.Y
	norm := math.Hypot(dx, dy)
	if norm == 0 {
		dx, dy, norm = 0, -1, 1
	}
	dx, dy = dx/norm, dy/norm
	at := trace[k]
	inner, outer := 6*stroke, 26*stroke
	for _, side := range []float64{-1, 1} {
		from := Spot{X: at.X - side*dy*inner, Y: at.Y + side*dx*inner}
		to := Spot{X: at.X - side*dy*outer, Y: at.Y + side*dx*outer}
		segment(img, from, to, 1.5*stroke, gate)
	}
}
