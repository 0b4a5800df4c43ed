package picture

import (
	"image"
	"image/color"
	"math"

	"golang.org/x/image/draw"
)

// layer is a transparent picture that is drawn anew again and again: it remembers which parts were
// drawn on, so that the rest costs nothing. Places are px as in canvas.
type layer struct {
	canvas
	inked  tiles
	plain  *image.NRGBA // the same with colours not multiplied by alpha; nil until it is asked for
	plains tiles
}

// tiles are squares of a picture that something was drawn on.
type tiles struct {
	across int
	on     []bool
}

// tileSide is the side of a square, px: small beside a word.
const tileSide = 32

func newTiles(w, h int) tiles {
	across := (w + tileSide - 1) / tileSide
	return tiles{across, make([]bool, across*((h+tileSide-1)/tileSide))}
}

// each calls f with runs of squares that are on, as rectangles.
func (t tiles) each(f func(r image.Rectangle)) {
	for i := 0; i < len(t.on); i++ {
		if !t.on[i] {
			continue
		}
		from := i % t.across
		for i+1 < len(t.on) && t.on[i+1] && (i+1)%t.across > from {
			i++
		}
		y := i / t.across * tileSide
		f(image.Rect(from*tileSide, y, (i%t.across+1)*tileSide, y+tileSide))
	}
}

func newLayer(w, h int) *layer {
	return &layer{canvas: canvas{image.NewRGBA(image.Rect(0, 0, w, h))}, inked: newTiles(w, h)}
}

// touch notes that r is drawn on.
func (l *layer) touch(r image.Rectangle) {
	r = r.Intersect(l.Rect)
	for y := r.Min.Y / tileSide; y*tileSide < r.Max.Y; y++ {
		for x := r.Min.X / tileSide; x*tileSide < r.Max.X; x++ {
			l.inked.on[y*l.inked.across+x] = true
		}
	}
}

// wipe makes the layer transparent again.
func (l *layer) wipe() {
	l.inked.each(func(r image.Rectangle) {
		draw.Draw(l.RGBA, r.Intersect(l.Rect), image.Transparent, image.Point{}, draw.Src)
	})
	clear(l.inked.on)
}

// over lays the layer on a picture of its size.
func (l *layer) over(to *image.RGBA) {
	l.inked.each(func(r image.Rectangle) {
		r = r.Intersect(l.Rect)
		draw.Draw(to, r, l.RGBA, r.Min, draw.Over)
	})
}

// straight is the layer with colours not multiplied by alpha, as files with alpha have it. It is
// drawn anew by the next call.
func (l *layer) straight() *image.NRGBA {
	if l.plain == nil {
		l.plain, l.plains = image.NewNRGBA(l.Rect), newTiles(l.Rect.Dx(), l.Rect.Dy())
	}
	l.plains.each(func(r image.Rectangle) {
		draw.Draw(l.plain, r.Intersect(l.Rect), image.Transparent, image.Point{}, draw.Src)
	})
	copy(l.plains.on, l.inked.on)
	l.inked.each(func(r image.Rectangle) {
		r = r.Intersect(l.Rect)
		for y := r.Min.Y; y < r.Max.Y; y++ {
			i := l.PixOffset(r.Min.X, y)
			unmultiply(l.plain.Pix[i:i+4*r.Dx()], l.Pix[i:i+4*r.Dx()])
		}
	})
	return l.plain
}

// unmultiply turns pixels of four bytes whose colours are multiplied by alpha into such whose are
// not, rounded.
func unmultiply(to, from []uint8) {
	for i := 0; i+3 < len(from); i += 4 {
		a := uint32(from[i+3])
		switch a {
		case 0:
			continue // to is transparent
		case 0xff:
			copy(to[i:i+4], from[i:i+4])
			continue
		}
		for k := i; k < i+3; k++ {
			to[k] = uint8(min(0xff, (uint32(from[k])*0xff+a/2)/a))
		}
		to[i+3] = uint8(a)
	}
}

// line draws a straight line of a width.
func (l *layer) line(a, b Spot, width float64, col color.Color) {
	out := width/2 + 1
	l.touch(image.Rect(int(math.Floor(min(a.X, b.X)-out)), int(math.Floor(min(a.Y, b.Y)-out)), int(math.Ceil(max(a.X, b.X)+out))+1, int(math.Ceil(max(a.Y, b.Y)+out))+1))
	segment(l.RGBA, a, b, width, col)
}

// way draws straight lines from point to point.
func (l *layer) way(points []Spot, width float64, col color.Color) {
	for i := 1; i < len(points); i++ {
		l.line(points[i-1], points[i], width, col)
	}
}

// stamp lays a ready picture down, its corner at p.
func (l *layer) stamp(m *image.RGBA, p image.Point) {
	r := m.Rect.Sub(m.Rect.Min).Add(p)
	l.touch(r)
	draw.Draw(l.RGBA, r.Intersect(l.Rect), m, m.Rect.Min.Add(r.Intersect(l.Rect).Min.Sub(p)), draw.Over)
}
