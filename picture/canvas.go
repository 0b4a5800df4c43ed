package picture

import (
	"image"
	"image/color"
	"math"
	"strings"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/draw"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// canvas is a picture being drawn on. Places are px as in Spot: x right, y down, the centre of the top left pixel at the origin.
type canvas struct{ *image.RGBA }

func newCanvas(w, h int, ground color.Color) canvas {
	c := canvas{image.NewRGBA(image.Rect(0, 0, w, h))}
	c.fill(c.Rect, ground)
	return c
}

// fill lays an even colour over a part of the canvas.
func (c canvas) fill(r image.Rectangle, col color.Color) {
	draw.Draw(c.RGBA, r.Intersect(c.Rect), image.NewUniform(col), image.Point{}, draw.Over)
}

// frame draws a border of whole pixels inside r.
func (c canvas) frame(r image.Rectangle, width int, col color.Color) {
	c.fill(image.Rect(r.Min.X, r.Min.Y, r.Max.X, r.Min.Y+width), col)
	c.fill(image.Rect(r.Min.X, r.Max.Y-width, r.Max.X, r.Max.Y), col)
	c.fill(image.Rect(r.Min.X, r.Min.Y+width, r.Min.X+width, r.Max.Y-width), col)
	c.fill(image.Rect(r.Max.X-width, r.Min.Y+width, r.Max.X, r.Max.Y-width), col)
}

// level draws a line across the whole canvas, its middle at y, with area coverage.
func (c canvas) level(y, width float64, col color.NRGBA) {
	from, to := y+0.5-width/2, y+0.5+width/2 // pixel j covers j..j+1
	for j := int(math.Floor(from)); float64(j) < to; j++ {
		part := min(to, float64(j+1)) - max(from, float64(j))
		c.fill(image.Rect(0, j, c.Rect.Dx(), j+1), faded(col, uint8(math.Round(part*float64(col.A)))))
	}
}

// polygon fills the area within points, with area coverage; only the part inside clip is drawn.
func polygon(img draw.Image, clip image.Rectangle, col color.Color, points ...Spot) {
	box := image.Rectangle{}
	for _, p := range points {
		box = box.Union(image.Rect(int(math.Floor(p.X)), int(math.Floor(p.Y)), int(math.Floor(p.X))+3, int(math.Floor(p.Y))+3))
	}
	box = box.Intersect(clip.Intersect(img.Bounds()))
	if box.Empty() {
		return
	}
	r := vector.NewRasterizer(box.Dx(), box.Dy())
	// The rasteriser's pixel centres lie at halves, ours at whole numbers.
	for i, p := range points {
		x, y := float32(p.X+0.5-float64(box.Min.X)), float32(p.Y+0.5-float64(box.Min.Y))
		if i == 0 {
			r.MoveTo(x, y)
		} else {
			r.LineTo(x, y)
		}
	}
	r.ClosePath()
	r.Draw(img, box, image.NewUniform(col), image.Point{})
}

// segment draws a straight line of the given width.
func segment(img draw.Image, a, b Spot, width float64, col color.Color) {
	segmentIn(img, img.Bounds(), a, b, width, col)
}

// segmentIn draws a straight line as far as it lies inside clip.
func segmentIn(img draw.Image, clip image.Rectangle, a, b Spot, width float64, col color.Color) {
	dx, dy := b.X-a.X, b.Y-a.Y
	norm := math.Hypot(dx, dy)
	if norm == 0 {
		return
	}
	nx, ny := -dy/norm*width/2, dx/norm*width/2
	polygon(img, clip, col, Spot{X: a.X + nx, Y: a.Y + ny}, Spot{X: b.X + nx, Y: b.Y + ny}, Spot{X: b.X - nx, Y: b.Y - ny}, Spot{X: a.X - nx, Y: a.Y - ny})
}

// stroke is a pen that draws one line bit by bit: colour, width, and dashes that go on from bit to bit.
type stroke struct {
	col   color.Color
	width float64
	dash  []float64 // px drawn, px left out, and so on; none: solid
	along float64   // px drawn so far
	at    *Spot     // where the pen stands; nil: lifted
}

// to draws on to a point.
func (s *stroke) to(img draw.Image, clip image.Rectangle, p Spot) {
	if s.at == nil {
		s.at = &p
		return
	}
	from := *s.at
	length := math.Hypot(p.X-from.X, p.Y-from.Y)
	if length == 0 {
		return
	}
	point := func(d float64) Spot {
		return Spot{X: from.X + (p.X-from.X)*d/length, Y: from.Y + (p.Y-from.Y)*d/length}
	}
	for done := 0.0; done < length-1e-9; {
		ink, left := s.phase()
		step := min(left, length-done)
		if ink {
			segmentIn(img, clip, point(done), point(done+step), s.width, s.col)
		}
		done, s.along = done+step, s.along+step
	}
	s.at = &p
}

// phase says whether the pen draws where it is, and how far on that stays so.
func (s *stroke) phase() (ink bool, left float64) {
	if len(s.dash) == 0 {
		return true, math.Inf(1)
	}
	total := 0.0
	for _, d := range s.dash {
		total += d
	}
	at := math.Mod(s.along, total)
	for i, d := range s.dash {
		if at < d-1e-9 {
			return i%2 == 0, d - at
		}
		at = max(0, at-d)
	}
	return true, s.dash[0]
}

// Places of a text about the point it is written at.
type align int

const (
	left align = iota
	middle
	right
)

// lettering writes text. It is not for several goroutines at once.
type lettering struct {
	fonts map[bool]*opentype.Font
	faces map[lettered]font.Face
}

type lettered struct {
	size int
	bold bool
}

func newLettering() *lettering {
	return &lettering{fonts: map[bool]*opentype.Font{}, faces: map[lettered]font.Face{}}
}

// face returns the type of a size (px from baseline to baseline, about 1.15 times the height of the letters).
func (l *lettering) face(size float64, bold bool) font.Face {
	key := lettered{max(6, int(math.Round(size))), bold}
	if f := l.faces[key]; f != nil {
		return f
	}
	data := liberationsansregular.TTF
	if bold {
		data = liberationsansbold.TTF
	}
	if l.fonts[bold] == nil {
		parsed, err := opentype.Parse(data)
		if err != nil {
			panic("picture: the built-in type cannot be read: " + err.Error()) // it is part of the program
		}
		l.fonts[bold] = parsed
	}
	f, err := opentype.NewFace(l.fonts[bold], &opentype.FaceOptions{Size: float64(key.size), DPI: 72, Hinting: font.HintingFull})
	if err != nil {
		panic("picture: the built-in type has no such size: " + err.Error())
	}
	l.faces[key] = f
	return f
}

// writing is how a text looks.
type writing struct {
	size float64 // px
	bold bool
	col  color.Color
	at   align
	most float64 // px, of its width: a longer text is set smaller, then cut at a word; 0: any
	kept bool    // the size stays as it is
}

// least is how much smaller a text is set, to fit, before it is cut.
const least = 0.72

// text writes s with its baseline at y and returns its width.
func (l *lettering) text(c canvas, x, y float64, s string, w writing) float64 {
	face := l.face(w.size, w.bold)
	width := func() float64 { return float64(font.MeasureString(face, s)) / 64 }
	if w.most > 0 && width() > w.most {
		if !w.kept {
			face = l.face(l.fitting(s, w), w.bold)
		}
		for width() > w.most && len(s) > len("…") {
			s = shorter(s)
		}
	}
	n := width()
	switch w.at {
	case middle:
		x -= n / 2
	case right:
		x -= n
	}
	d := font.Drawer{Dst: c.RGBA, Src: image.NewUniform(w.col), Face: face, Dot: fixed.Point26_6{X: fixed.Int26_6(math.Round(x) * 64), Y: fixed.Int26_6(math.Round(y) * 64)}}
	d.DrawString(visual(s))
	return n
}

// fitting is the size at which a text has its width, but no less than may be.
func (l *lettering) fitting(s string, w writing) float64 {
	return math.Floor(min(w.size, max(w.size*least, w.size*w.most/l.width(s, w.size, w.bold))))
}

// shorter cuts the last word off a text, or the last letter of its only word.
func shorter(s string) string {
	s = strings.TrimRight(strings.TrimSuffix(s, "…"), " ,")
	if i := strings.LastIndexByte(s, ' '); i > 0 {
		return strings.TrimRight(s[:i], " ,") + "…"
	}
	r := []rune(s)
	return string(r[:max(0, len(r)-1)]) + "…"
}

// width is how wide a text is at a size.
func (l *lettering) width(s string, size float64, bold bool) float64 {
	return float64(font.MeasureString(l.face(size, bold), s)) / 64
}
