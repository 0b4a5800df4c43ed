package picture

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"

	"golang.org/x/image/draw"
)

// Exposure gathers a multiple-exposure picture: the vehicle at several instants in one frame, before the
// resting background. In each pixel it keeps, of the frames added, the one that differs most from the picture at
// rest; where none differs, it keeps the rest. The frames must be of one size and from a camera that stands still,
// or be moved back by what it moved.
type Exposure struct {
	rest *image.NRGBA
	out  *image.NRGBA
	most []uint8 // greatest difference so far, by pixel
}

// leastDifference is how far, of 255 levels, a channel must leave the picture at rest to count: above the noise of a
// camera at high sensitivity (3 sigma of about 6 levels; common practice, no source).
const leastDifference = 20

// NewExposure begins with the picture at rest.
func NewExposure(rest image.Image) *Exposure {
	e := &Exposure{rest: plain(rest), out: plain(rest)}
	e.most = make([]uint8, e.rest.Rect.Dx()*e.rest.Rect.Dy())
	for i := range e.most {
		e.most[i] = leastDifference
	}
	return e
}

// Add lays a frame over the picture. The camera had moved by (dx, dy) px: what is at rest at (x, y) is seen at (x+dx, y+dy).
func (e *Exposure) Add(frame image.Image, dx, dy int) error {
	f := plain(frame)
	w, h := e.rest.Rect.Dx(), e.rest.Rect.Dy()
	if f.Rect.Dx() != w || f.Rect.Dy() != h {
		return fmt.Errorf("lay frames over each other: one is %dx%d px, the first is %dx%d", f.Rect.Dx(), f.Rect.Dy(), w, h)
	}
	for y := max(0, -dy); y < min(h, h-dy); y++ {
		for x := max(0, -dx); x < min(w, w-dx); x++ {
			to, from := y*e.rest.Stride+4*x, (y+dy)*f.Stride+4*(x+dx)
			d := difference(e.rest.Pix[to:to+3], f.Pix[from:from+3])
			if i := y*w + x; d > e.most[i] {
				e.most[i] = d
				copy(e.out.Pix[to:to+3], f.Pix[from:from+3])
			}
		}
	}
	return nil
}

// JPEG returns the picture, its longer side at most longest px.
func (e *Exposure) JPEG(longest int) ([]byte, error) {
	img := Shrink(e.out, longest)
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 88}); err != nil {
		return nil, fmt.Errorf("encode picture: %w", err)
	}
	return b.Bytes(), nil
}

// Shrink returns the picture with its longer side at most longest px, never larger than it is.
func Shrink(img image.Image, longest int) image.Image {
	b := img.Bounds()
	side := max(b.Dx(), b.Dy())
	if side <= longest {
		return img
	}
	w, h := max(1, b.Dx()*longest/side), max(1, b.Dy()*longest/side)
	out := image.NewNRGBA(image.Rect(0, 0, w, h))
	draw.ApproxBiLinear.Scale(out, out.Rect, img, b, draw.Src, nil)
	return out
}

// plain copies a picture into 8-bit channels with its corner at (0, 0).
func plain(img image.Image) *image.NRGBA {
	b := img.Bounds()
	out := image.NewNRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(out, out.Rect, img, b.Min, draw.Src)
	return out
}

// difference is the largest of the three channels' differences.
func difference(a, b []uint8) uint8 {
	var most uint8
	for i := range 3 {
		d := a[i] - b[i]
		if b[i] > a[i] {
			d = b[i] - a[i]
		}
		most = max(most, d)
	}
	return most
}
