package picture

import (
	"bytes"
	"cmp"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"slices"
)

// PhotoFinish is a race as one picture: the streaks of the launches under each other on one axis of time, which counts from each
// launch's own first motion. All strips show the same heights.
type PhotoFinish struct {
	Title    string
	Strips   []FinishStrip
	Finish   Level
	Levels   []Level
	From, To float64 // s after first motion
	Lo, Hi   float64 // m, of every strip
}

// FinishStrip is the streak of one launch. Times are s after its first motion.
type FinishStrip struct {
	Title, Result string
	Streak        Streak     // its Times, Rows, Height, Gray and Trace; none where Times is empty
	First         [2]float64 // the 95 % interval of first motion, about 0
	Crossing      *Crossing  // of the finish; nil where it was not reached
	Note          string     // why there is nothing to be seen at the end
}

// Crossing is an instant with its 95 % interval, s.
type Crossing struct{ At, Lo, Hi float64 }

// Sizes of a photo finish, px.
const (
	finishWide    = 1400
	finishText    = 24.0
	finishLeft    = 110
	finishRight   = 24
	stripsTall    = 900
	stripTallest  = 250
	stripShortest = 120
)

// PNG draws the picture.
func (f *PhotoFinish) PNG() ([]byte, error) {
	if len(f.Strips) == 0 || !(f.To > f.From) || !(f.Hi > f.Lo) {
		return nil, fmt.Errorf("draw photo finish: %d strips from %g to %g s and %g to %g m", len(f.Strips), f.From, f.To, f.Lo, f.Hi)
	}
	const head, title, foot = 64, 46, 96
	tall := min(max(stripsTall/len(f.Strips), stripShortest), stripTallest)
	d := finishing{PhotoFinish: f, c: newCanvas(finishWide, head+len(f.Strips)*(title+tall)+foot, paper), l: newLettering()}
	d.l.text(d.c, finishLeft, 42, f.Title, writing{size: 1.15 * finishText, bold: true, col: ink, most: finishWide - finishLeft - finishRight})
	for i := range f.Strips {
		y := head + i*(title+tall) + title
		d.boxes = append(d.boxes, image.Rect(finishLeft, y, finishWide-finishRight, y+tall))
		d.strip(i)
	}
	d.axis()
	d.crossings()
	var b bytes.Buffer
	if err := png.Encode(&b, d.c.RGBA); err != nil {
		return nil, fmt.Errorf("encode picture: %w", err)
	}
	return b.Bytes(), nil
}

// finishing is a photo finish being drawn.
type finishing struct {
	*PhotoFinish
	c     canvas
	l     *lettering
	boxes []image.Rectangle
}

func (d *finishing) x(t float64) float64 {
	b := d.boxes[0]
	return float64(b.Min.X) + (t-d.From)/(d.To-d.From)*float64(b.Dx()-1)
}

func (d *finishing) y(box image.Rectangle, h float64) float64 {
	return float64(box.Max.Y) - 1 - (h-d.Lo)/(d.Hi-d.Lo)*float64(box.Dy()-1)
}

// strip draws launch i: its words, its streak, the heights and its trace.
func (d *finishing) strip(i int) {
	s, box := &d.Strips[i], d.boxes[i]
	inkOf, textInk, line := penOf(i, 4)
	x, y := float64(box.Min.X), float64(box.Min.Y)-16
	taken := d.l.text(d.c, float64(box.Max.X), y, s.Result, writing{size: finishText, bold: true, col: textInk, at: right, most: 0.6 * float64(box.Dx())})
	used := d.l.text(d.c, x, y, fmt.Sprint(i+1), writing{size: 1.15 * finishText, bold: true, col: textInk})
	d.l.text(d.c, x+used+10, y, s.Title, writing{size: finishText, col: ink, most: float64(box.Dx()) - used - taken - 34})
	line.to(d.c, d.c.Rect, Spot{X: x, Y: y + 10})
	line.to(d.c, d.c.Rect, Spot{X: float64(box.Max.X), Y: y + 10})
	d.c.fill(box, nothing)
	d.band(s, box)
	written := d.y(box, d.Finish.Height)
	for k := len(d.Levels) - 1; k >= 0; k-- { // from the finish down, as there is room for words
		l := d.Levels[k]
		y := d.y(box, l.Height)
		room := math.Abs(y-written) >= 0.95*finishText
		if room {
			written = y
		} else {
			l.Label = ""
		}
		d.level(box, l, 1, faded(ink, 0x90), false)
	}
	d.level(box, d.Finish, 2.5, gate, true)
	trace := stroke{col: inkOf, width: 1.6}
	for _, p := range s.Streak.Trace {
		if p.T <= d.To {
			trace.to(d.c, box, Spot{X: d.x(p.T), Y: d.y(box, p.H)})
		}
	}
	if s.Note != "" {
		d.l.text(d.c, float64(box.Max.X)-12, float64(box.Max.Y)-14, s.Note, writing{size: 0.9 * finishText, col: ink, at: right, most: 0.5 * float64(box.Dx())})
	}
}

// band lays the streak where it has columns and rows.
func (d *finishing) band(s *FinishStrip, box image.Rectangle) {
	k := &s.Streak
	n := len(k.Times)
	if n < 2 || k.Rows < 2 {
		return
	}
	t0, t1 := max(d.From, k.Times[0]-(k.Times[1]-k.Times[0])/2), min(d.To, k.Times[n-1]+(k.Times[n-1]-k.Times[n-2])/2)
	h0, h1 := max(d.Lo, k.Height(-0.5)), min(d.Hi, k.Height(float64(k.Rows)-0.5))
	part := image.Rect(int(math.Round(d.x(t0))), int(math.Round(d.y(box, h1))), int(math.Round(d.x(t1))), int(math.Round(d.y(box, h0)))+1).Intersect(box)
	if part.Empty() {
		return
	}
	img := k.band(t0, t1, h0, h1, part.Dx(), part.Dy())
	for y := range part.Dy() {
		for x := range part.Dx() {
			v := img.GrayAt(x, y).Y
			d.c.SetRGBA(part.Min.X+x, part.Min.Y+y, color.RGBA{v, v, v, 255})
		}
	}
}

// level draws a height across a strip and writes it beside it.
func (d *finishing) level(box image.Rectangle, l Level, width float64, col color.NRGBA, bold bool) {
	y := d.y(box, l.Height)
	if y < float64(box.Min.Y) || y > float64(box.Max.Y) {
		return
	}
	a, b := Spot{X: float64(box.Min.X), Y: y}, Spot{X: float64(box.Max.X), Y: y}
	segmentIn(d.c, box, Spot{X: a.X, Y: y - width/2 - 0.6}, Spot{X: b.X, Y: y - width/2 - 0.6}, 1.2, faded(paper, 0x90))
	segmentIn(d.c, box, a, b, width, col)
	text := writing{size: 0.85 * finishText, col: ink, at: right, bold: bold}
	if bold {
		text.col = gate
	}
	d.l.text(d.c, a.X-10, y+0.3*finishText, l.Label, text)
}

// axis writes the time below the last strip.
func (d *finishing) axis() {
	bottom := float64(d.boxes[len(d.boxes)-1].Max.Y)
	unit, words := timeUnit(max(math.Abs(d.From), d.To))
	for _, t := range ticks(d.From*unit, d.To*unit, 14) {
		x := d.x(t.at / unit)
		segment(d.c, Spot{X: x, Y: bottom}, Spot{X: x, Y: bottom + 6}, 1.5, ink)
		d.l.text(d.c, x, bottom+52, t.label, writing{size: 0.85 * finishText, col: ink, at: middle})
	}
	segment(d.c, Spot{X: float64(finishLeft), Y: bottom}, Spot{X: float64(finishWide - finishRight), Y: bottom}, 1.5, ink)
	d.l.text(d.c, finishLeft, bottom+84, "time since each launch's own first motion, "+words, writing{size: 0.9 * finishText, col: ink})
}

// crossings marks first motion and the passing of the finish, each with its interval, in its own strip; a thin line leads from a crossing
// through the strips below to its number on the axis.
func (d *finishing) crossings() {
	bottom := float64(d.boxes[len(d.boxes)-1].Max.Y)
	var over []int
	for i := range d.Strips {
		s, box := &d.Strips[i], d.boxes[i]
		inkOf, _, _ := penOf(i, 2)
		d.mark(box, float64(box.Min.Y), s.First[0], 0, s.First[1], gate)
		c := s.Crossing
		if c == nil {
			continue
		}
		over = append(over, i)
		d.mark(box, d.y(box, d.Finish.Height), c.Lo, c.At, c.Hi, inkOf)
		for _, below := range d.boxes[i+1:] {
			_, _, dashed := penOf(i, 2)
			dashed.to(d.c, below, Spot{X: d.x(c.At), Y: float64(below.Min.Y)})
			dashed.to(d.c, below, Spot{X: d.x(c.At), Y: float64(below.Max.Y)})
		}
	}
	slices.SortFunc(over, func(a, b int) int { return cmp.Compare(d.Strips[a].Crossing.At, d.Strips[b].Crossing.At) })
	last := math.Inf(-1)
	for _, i := range over {
		const apart = 18 // numbers stand beside each other
		last = max(d.x(d.Strips[i].Crossing.At), last+apart)
		_, textInk, _ := penOf(i, 2)
		d.l.text(d.c, last, bottom+25, fmt.Sprint(i+1), writing{size: 0.95 * finishText, bold: true, col: textInk, at: middle})
	}
}

// mark draws an instant from a row down to the strip's bottom: a line, and behind it its interval where that is wider.
func (d *finishing) mark(box image.Rectangle, top, lo, at, hi float64, col color.NRGBA) {
	a, b := d.x(lo), d.x(hi)
	bottom := float64(box.Max.Y)
	if b-a > 3 {
		polygon(d.c, box, faded(col, 0x60), Spot{X: a, Y: top}, Spot{X: b, Y: top}, Spot{X: b, Y: bottom}, Spot{X: a, Y: bottom})
	}
	x := d.x(at)
	segmentIn(d.c, box, Spot{X: x - 1.8, Y: top}, Spot{X: x - 1.8, Y: bottom}, 1.4, faded(paper, 0xc0))
	segmentIn(d.c, box, Spot{X: x, Y: top}, Spot{X: x, Y: bottom}, 2.2, col)
}
