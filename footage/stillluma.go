package footage

import (
	"image"
	"image/color"
	"image/draw"
)

// fill writes a picture's brightness upright into l: the Y plane of a JPEG as coded, grey as it is, colours by the weights of
// Rec. ITU-R BT.601, as package image/color computes them.
func fill(l *Luma, m image.Image, o orientation) {
	b := m.Bounds()
	w, h := b.Dx(), b.Dy()
	switch p := m.(type) {
	case *image.YCbCr:
		lay(o, p.Y[p.YOffset(b.Min.X, b.Min.Y):], l.Pix8, w, h, p.YStride)
	case *image.Gray:
		lay(o, p.Pix[p.PixOffset(b.Min.X, b.Min.Y):], l.Pix8, w, h, p.Stride)
	default:
		fillConverted(l, m, o)
	}
}

// fillConverted goes row by row through pictures that are not brightness alone.
func fillConverted(l *Luma, m image.Image, o orientation) {
	b := m.Bounds()
	start, dx, dy := o.strides(b.Dx(), b.Dy())
	for y := range b.Dy() {
		at := start + y*dy
		for x := range b.Dx() {
			if l.Pix8 != nil {
				l.Pix8[at] = grey8(m, b.Min.X+x, b.Min.Y+y)
			} else {
				l.Pix16[at] = grey16(m, b.Min.X+x, b.Min.Y+y)
			}
			at += dx
		}
	}
}

func grey8(m image.Image, x, y int) uint8 {
	switch p := m.(type) { // the usual ones without a detour through interfaces
	case *image.RGBA:
		return color.GrayModel.Convert(p.RGBAAt(x, y)).(color.Gray).Y
	case *image.NRGBA:
		c := p.NRGBAAt(x, y)
		if c.A == 0xff {
			// The same sum as color.GrayModel's, for opaque pixels.
			r, g, b := uint32(c.R)*0x101, uint32(c.G)*0x101, uint32(c.B)*0x101
			return uint8((19595*r + 38470*g + 7471*b + 1<<15) >> 24)
		}
	}
	return color.GrayModel.Convert(m.At(x, y)).(color.Gray).Y
}

func grey16(m image.Image, x, y int) uint16 {
	if p, ok := m.(*image.Gray16); ok {
		return p.Gray16At(x, y).Y
	}
	return color.Gray16Model.Convert(m.At(x, y)).(color.Gray16).Y
}

// upright returns the picture as it is to be looked at: m itself where nothing needs turning.
func upright(m image.Image, o orientation) image.Image {
	if o == (orientation{}) {
		return m
	}
	b := m.Bounds()
	w, h := o.size(b.Dx(), b.Dy())
	switch p := m.(type) {
	case *image.Gray:
		out := image.NewGray(image.Rect(0, 0, w, h))
		lay(o, p.Pix[p.PixOffset(b.Min.X, b.Min.Y):], out.Pix, b.Dx(), b.Dy(), p.Stride)
		return out
	case *image.Gray16, *image.RGBA64, *image.NRGBA64:
		out := image.NewRGBA64(image.Rect(0, 0, w, h))
		start, dx, dy := o.strides(b.Dx(), b.Dy())
		for y := range b.Dy() {
			for x := range b.Dx() {
				at := start + y*dy + x*dx
				out.Set(at%w, at/w, m.At(b.Min.X+x, b.Min.Y+y))
			}
		}
		return out
	}
	flat := image.NewRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(flat, flat.Rect, m, b.Min, draw.Src)
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	start, dx, dy := o.strides(b.Dx(), b.Dy())
	for y := range b.Dy() {
		at := start + y*dy
		for x := range b.Dx() {
			i := y*flat.Stride + 4*x
			copy(out.Pix[4*at:4*at+4], flat.Pix[i:i+4])
			at += dx
		}
	}
	return out
}
