package picture

import "image"

// Fitted says how footage lies on a canvas of another shape, always at its own size: Part of its
// picture is seen, with its corner at At on the canvas. Places are px, x right, y down; what the
// footage does not cover is a dark ground.
type Fitted struct {
	Canvas image.Point // both even, as clips want it
	Part   image.Rectangle
	At     image.Point
}

// Aside moves the footage to the right edge of its canvas, so that all the room is to its left.
func (f Fitted) Aside() Fitted {
	f.At.X = f.Canvas.X - f.Part.Dx()
	return f
}

// Fit lays footage of a size on a canvas of a shape such as 16:9; the zero shape is that of the
// footage. With crop the canvas is as large as the footage holds, with about as near its middle as
// may be; else it is as small as holds all of the footage.
func Fit(size, shape image.Point, crop bool, about Spot) Fitted {
	f := Fitted{Canvas: image.Pt(size.X+size.X%2, size.Y+size.Y%2), Part: image.Rectangle{Max: size}}
	if shape == (image.Point{}) {
		return f
	}
	wider := size.X*shape.Y > size.Y*shape.X // than the shape
	if wider == crop {                       // as tall as the footage
		f.Canvas = image.Pt(even(size.Y*shape.X, shape.Y), size.Y+size.Y%2)
	} else {
		f.Canvas = image.Pt(size.X+size.X%2, even(size.X*shape.Y, shape.X))
	}
	along := func(canvas, size int, about float64) (from, to, at int) {
		if canvas >= size {
			return 0, size, (canvas - size) / 2
		}
		from = min(max(0, int(about)-canvas/2), size-canvas)
		return from, from + canvas, 0
	}
	f.Part.Min.X, f.Part.Max.X, f.At.X = along(f.Canvas.X, size.X, about.X)
	f.Part.Min.Y, f.Part.Max.Y, f.At.Y = along(f.Canvas.Y, size.Y, about.Y)
	return f
}

// even is a/b to the nearest even number, at least 2.
func even(a, b int) int { return max(2, (a+b)/(2*b)*2) }

// On is where a place of the footage lies on the canvas.
func (f Fitted) On(s Spot) Spot {
	return Spot{X: s.X + float64(f.At.X-f.Part.Min.X), Y: s.Y + float64(f.At.Y-f.Part.Min.Y)}
}

// Shows says whether a place of the footage is seen on the canvas, at least margin px from the edge
// of what is cut.
func (f Fitted) Shows(s Spot, margin float64) bool {
	return s.X >= float64(f.Part.Min.X)+margin && s.X <= float64(f.Part.Max.X-1)-margin &&
		s.Y >= float64(f.Part.Min.Y)+margin && s.Y <= float64(f.Part.Max.Y-1)-margin
}
