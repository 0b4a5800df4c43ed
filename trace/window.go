package trace

import (
	"math"

	"padside/footage"
)

// area is a rectangle of whole pixels: columns x..x+w-1, rows y..y+h-1.
type area struct{ x, y, w, h int }

func (a area) centre() (x, y float64) {
	return float64(a.x) + float64(a.w-1)/2, float64(a.y) + float64(a.h-1)/2
}

// within tells whether a lies in b.
func (a area) within(b area) bool {
	return a.x >= b.x && a.y >= b.y && a.x+a.w <= b.x+b.w && a.y+a.h <= b.y+b.h
}

// meets tells whether a and b share a pixel.
func (a area) meets(b area) bool {
	return a.x < b.x+b.w && b.x < a.x+a.w && a.y < b.y+b.h && b.y < a.y+a.h
}

// clip returns the part of a that lies in b.
func (a area) clip(b area) area {
	x0, y0 := max(a.x, b.x), max(a.y, b.y)
	x1, y1 := min(a.x+a.w, b.x+b.w), min(a.y+a.h, b.y+b.h)
	return area{x0, y0, max(0, x1-x0), max(0, y1-y0)}
}

func (a area) grown(by int) area { return area{a.x - by, a.y - by, a.w + 2*by, a.h + 2*by} }

// grey is what one step of the samples is in levels of an 8-bit picture, the unit of
// brightness in this package.
func grey(l *footage.Luma) float32 {
	if l.Pix8 != nil || l.Depth <= 8 {
		return 1
	}
	return float32(math.Ldexp(1, 8-l.Depth))
}

// cut copies an area of the picture, in levels of an 8-bit picture, repeating the border
// outside it.
func cut(l *footage.Luma, a area, dst []float32) []float32 {
	dst = grow(dst, a.w*a.h)
	if l.Pix8 != nil {
		cutFrom(l.Pix8, l, a, dst)
	} else {
		cutFrom(l.Pix16, l, a, dst)
		g := grey(l)
		for i := range dst {
			dst[i] *= g
		}
	}
	return dst
}

func cutFrom[T uint8 | uint16](pix []T, l *footage.Luma, a area, dst []float32) {
	x0, x1 := max(a.x, 0), min(a.x+a.w, l.Width)
	for j := range a.h {
		y := min(max(a.y+j, 0), l.Height-1)
		out, row := dst[j*a.w:(j+1)*a.w], pix[y*l.Width:(y+1)*l.Width]
		if x0 >= x1 { // wholly to one side
			v := float32(row[min(max(a.x, 0), l.Width-1)])
			for i := range out {
				out[i] = v
			}
			continue
		}
		in := out[x0-a.x:]
		for i, v := range row[x0:x1] {
			in[i] = float32(v)
		}
		for i := range x0 - a.x {
			out[i] = out[x0-a.x]
		}
		for i := x1 - a.x; i < a.w; i++ {
			out[i] = out[x1-a.x-1]
		}
	}
}
