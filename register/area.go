package register

import (
	"math"

	"padside/footage"
)

// Area is a rectangle of whole pixels of a picture: columns X..X+W-1, rows Y..Y+H-1.
type Area struct{ X, Y, W, H int }

// Centre is the middle of the area, px.
func (a Area) Centre() (x, y float64) {
	return float64(a.X) + float64(a.W-1)/2, float64(a.Y) + float64(a.H-1)/2
}

// Within reports whether a lies in b.
func (a Area) Within(b Area) bool {
	return a.X >= b.X && a.Y >= b.Y && a.X+a.W <= b.X+b.W && a.Y+a.H <= b.Y+b.H
}

// Meets reports whether a and b share a pixel.
func (a Area) Meets(b Area) bool {
	return a.X < b.X+b.W && b.X < a.X+a.W && a.Y < b.Y+b.H && b.Y < a.Y+a.H
}

// Clip returns the part of a that lies in b.
func (a Area) Clip(b Area) Area {
	x0, y0 := max(a.X, b.X), max(a.Y, b.Y)
	x1, y1 := min(a.X+a.W, b.X+b.W), min(a.Y+a.H, b.Y+b.H)
	return Area{x0, y0, max(0, x1-x0), max(0, y1-y0)}
}

// Grown is the area with by more pixels on every side.
func (a Area) Grown(by int) Area { return Area{a.X - by, a.Y - by, a.W + 2*by, a.H + 2*by} }

// Grey is what one step of the samples is in levels of an 8-bit picture, the unit of
// brightness in this package.
func Grey(l *footage.Luma) float32 {
	if l.Pix8 != nil || l.Depth <= 8 {
		return 1
	}
	return float32(math.Ldexp(1, 8-l.Depth))
}

// Cut copies an area of the picture, row by row in levels of an 8-bit picture, repeating the border
// outside it. It uses dst's memory where that suffices.
func Cut(l *footage.Luma, a Area, dst []float32) []float32 {
	dst = grow(dst, a.W*a.H)
	if l.Pix8 != nil {
		cutFrom(l.Pix8, l, a, dst)
	} else {
		cutFrom(l.Pix16, l, a, dst)
		g := Grey(l)
		for i := range dst {
			dst[i] *= g
		}
	}
	return dst
}

func cutFrom[T uint8 | uint16](pix []T, l *footage.Luma, a Area, dst []float32) {
	x0, x1 := max(a.X, 0), min(a.X+a.W, l.Width)
	for j := range a.H {
		y := min(max(a.Y+j, 0), l.Height-1)
		out, row := dst[j*a.W:(j+1)*a.W], pix[y*l.Width:(y+1)*l.Width]
		if x0 >= x1 { // wholly to one side
			v := float32(row[min(max(a.X, 0), l.Width-1)])
			for i := range out {
				out[i] = v
			}
			continue
		}
		in := out[x0-a.X:]
		for i, v := range row[x0:x1] {
			in[i] = float32(v)
		}
		for i := range x0 - a.X {
			out[i] = out[x0-a.X]
		}
		for i := x1 - a.X; i < a.W; i++ {
			out[i] = out[x1-a.X-1]
		}
	}
}

// Level is a pixel in levels of an 8-bit picture.
func Level(l *footage.Luma, x, y int) float32 {
	if l.Pix8 != nil {
		return float32(l.Pix8[y*l.Width+x])
	}
	return float32(l.Pix16[y*l.Width+x]) * Grey(l)
}
