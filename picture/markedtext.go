package picture

import (
	"fmt"
	"image"
	"math"
	"strings"
)

// cell is a piece of text in a line, and how it is written.
type cell struct {
	text string
	writing
}

// line is a line of a plate: its cells stand in columns.
type line struct {
	cells []cell
	hot   bool // laid on the colour of what is new
}

// tall is the height of a line.
func (l line) tall() float64 {
	size := 0.0
	for _, c := range l.cells {
		size = max(size, c.size)
	}
	return lineStep * size
}

// columns are the widths of the columns of lines, px, without what lies between them.
func (m *Marked) columns(lines []line) []float64 {
	var out []float64
	for _, l := range lines {
		for i, c := range l.cells {
			if i == len(out) {
				out = append(out, 0)
			}
			out[i] = max(out[i], math.Ceil(m.letters.width(c.text, c.size, c.bold)))
		}
	}
	return out
}

// columnGap is what lies between two columns, in sizes.
const columnGap = 0.8

// across is how wide columns are together.
func across(columns []float64, size float64) float64 {
	w := 0.0
	for _, c := range columns {
		w += c
	}
	return w + columnGap*size*float64(max(0, len(columns)-1))
}

// plate writes lines on a dark ground that ends pad px beyond them. Columns may be given, at least as wide as the text; those but the first end
// flush right.
func (m *Marked) plate(lines []line, columns []float64, pad float64) *image.RGBA {
	if len(lines) == 0 {
		return nil
	}
	if columns == nil {
		columns = m.columns(lines)
	}
	size := lines[0].cells[0].size
	height := 0.0
	for _, l := range lines {
		height += l.tall()
	}
	c := canvas{image.NewRGBA(image.Rect(0, 0, int(math.Ceil(across(columns, size)+2*pad)), int(math.Ceil(height+1.2*pad))))}
	c.fill(c.Rect, plate)
	y := 0.6 * pad
	for _, l := range lines {
		if l.hot {
			c.fill(image.Rect(0, int(math.Round(y)), c.Rect.Max.X, int(math.Round(y+l.tall()))), fresh)
		}
		x := pad
		for i, k := range l.cells {
			w := k.writing
			at := x
			if i > 0 {
				w.at, at = right, x+columns[i]
			}
			m.letters.text(c, at, y+0.8*l.tall(), k.text, w)
			x += columns[i] + columnGap*size
		}
		y += l.tall()
	}
	return c.RGBA
}

// plates is where the plates stand.
type plates struct {
	right    bool // title and readings stand to the right of the flight
	title    *image.RGBA
	titleAt  image.Point
	readings set
	splits   set
	stacked  bool                   // a split is two lines
	cells    int                    // of a split
	most     int                    // splits shown at a time
	drawn    map[string]*image.RGBA // splits
}

// set is how a plate is set: its corner, the size of its letters against the usual, the widths of its columns.
type set struct {
	at      image.Point
	scale   float64
	columns []float64
}

// pad is the rim of a plate, px.
func (m *Marked) pad() float64 { return m.text / 2.5 }

// besides is how far plates keep from the flight line, in sizes: half a vehicle, usually.
const besides = 1.5

// Text is set smaller to keep clear of the flight, but no less than this.
const (
	leastReading = 0.6
	leastSplit   = 0.75
)

// arrange finds the places of all plates: title and readings to that side of the flight that has more room, the splits to the other where they
// have room there, else between title and readings.
func (m *Marked) arrange() plates {
	p := plates{drawn: map[string]*image.RGBA{}}
	leftRoom, rightRoom := m.flight-besides*m.text-float64(m.safe.Min.X), float64(m.safe.Max.X)-m.flight-besides*m.text
	p.right = rightRoom > leftRoom*1.02
	room, other := max(leftRoom, rightRoom), min(leftRoom, rightRoom)
	room, other = max(room, 5*m.text)-2*m.pad(), other-m.labelled()-2*m.pad()
	p.readings.scale = m.fitted(room, leastReading, func(k float64) []line { return m.readingLines(m.spec.Clock, m.spec.Readings, k) }, &p.readings.columns)
	flush := func(right bool, width float64) int {
		if right {
			return m.safe.Max.X - int(math.Ceil(width))
		}
		return m.safe.Min.X
	}
	top, bottom := m.safe.Min.Y, m.safe.Max.Y
	if p.title = m.title(room); p.title != nil {
		p.titleAt = image.Pt(flush(p.right, float64(p.title.Rect.Dx())), top)
		top += p.title.Rect.Dy() + int(m.text/2)
	}
	if r := m.plate(m.readingLines(m.spec.Clock, m.spec.Readings, p.readings.scale), p.readings.columns, m.pad()); r != nil {
		bottom -= r.Rect.Dy()
		p.readings.at = image.Pt(flush(p.right, float64(r.Rect.Dx())), bottom)
		bottom -= int(m.text / 2)
	}
	wide := p.right
	if m.setSplits(&p, other, 1) { // as large as can be
		wide, top, bottom = !p.right, m.safe.Min.Y, m.safe.Max.Y
	} else {
		m.setSplits(&p, room, leastSplit)
	}
	p.splits.at = image.Pt(flush(wide, across(p.splits.columns, splitSize*m.text*p.splits.scale)+2*m.pad()), top)
	one := 0.0
	for _, l := range m.splitLines(&p, min(1, len(m.spec.Splits)), 0) {
		one += l.tall()
	}
	p.most = max(1, int((float64(bottom-top)-1.2*m.pad())/max(one, 1)))
	return p
}

// fitted is the scale, 1 or less, at which lines are no wider than room, but no less than least; columns are then theirs.
func (m *Marked) fitted(room, least float64, lines func(scale float64) []line, columns *[]float64) float64 {
	scale := 1.0
	for {
		l := lines(scale)
		*columns = m.columns(l)
		if len(l) == 0 || scale <= least || across(*columns, l[0].cells[0].size) <= room {
			return scale
		}
		scale = max(least, scale-0.04)
	}
}

// setSplits sets the splits no wider than room: without how fast, then smaller, then in two lines each. It reports false where that is not enough.
func (m *Marked) setSplits(p *plates, room, least float64) bool {
	if len(m.spec.Splits) == 0 {
		return true
	}
	for _, way := range []struct {
		cells   int
		least   float64
		stacked bool
	}{{3, max(least, 0.8), false}, {2, least, false}, {2, least, true}} {
		p.cells, p.stacked = way.cells, way.stacked
		p.splits.scale = m.fitted(room, way.least, func(k float64) []line {
			p.splits.scale = k
			return m.splitLines(p, len(m.spec.Splits), 0)
		}, &p.splits.columns)
		if across(p.splits.columns, splitSize*m.text*p.splits.scale) <= room {
			return true
		}
		if least == 1 && way.cells == 2 { // elsewhere there may be more room
			break
		}
	}
	return false
}

// labelled is how far the gates' lines and labels reach to the side away from the readings, px from the flight's clearance.
func (m *Marked) labelled() float64 {
	out := 0.0
	for _, g := range m.spec.Gates {
		if n := len(g.Line); n > 0 {
			out = max(out, (g.Line[n-1].X-g.Line[0].X)/2+m.text/5+m.letters.width(g.Label, labelSize*m.text, true)+m.text)
		}
	}
	return max(0, out-besides*m.text)
}

// title is the title's plate, no wider than room within its pads: in two lines, or smaller in three, or cut at a word.
func (m *Marked) title(room float64) *image.RGBA {
	var lines []line
	size, most := titleSize*m.text, 2
	for m.longest(m.wrapped(m.spec.Title, room, size, true, most), size) > room && size > leastTitle*m.text {
		size, most = size-1, 3
	}
	for _, s := range m.wrapped(m.spec.Title, room, size, true, most) {
		lines = append(lines, line{cells: []cell{{s, writing{size: size, bold: true, col: paper, most: room, kept: true}}}})
	}
	if m.spec.Caption != "" {
		lines = append(lines, line{cells: []cell{{m.spec.Caption, writing{size: captionSize * m.text, col: muted, most: room}}}})
	}
	columns := m.columns(lines)
	for i := range columns {
		columns[i] = min(columns[i], room)
	}
	return m.plate(lines, columns, m.pad())
}

// leastTitle is how small a title may be set, in sizes.
const leastTitle = 0.7

// longest is the width of the longest of several bold lines.
func (m *Marked) longest(lines []string, size float64) float64 {
	out := 0.0
	for _, s := range lines {
		out = max(out, m.letters.width(s, size, true))
	}
	return out
}

// wrapped breaks a text between words into lines of at most so wide, the last of which may be wider where there would be more than most.
func (m *Marked) wrapped(s string, wide, size float64, bold bool, most int) []string {
	var out []string
	words := strings.Fields(s)
	for len(words) > 0 {
		n := 1
		for n < len(words) && m.letters.width(strings.Join(words[:n+1], " "), size, bold) <= wide {
			n++
		}
		if len(out) == most-1 {
			n = len(words)
		}
		out, words = append(out, strings.Join(words[:n], " ")), words[n:]
	}
	return out
}

// readingLines are the lines of clock and motion.
func (m *Marked) readingLines(clock string, list []string, scale float64) []line {
	var out []line
	if clock != "" {
		out = append(out, line{cells: []cell{{clock, writing{size: scale * clockSize * m.text, bold: true, col: paper}}}})
	}
	for _, s := range list {
		out = append(out, line{cells: []cell{{s, writing{size: scale * m.text, col: paper}}}})
	}
	return out
}

// splitLines are the first n splits, the last hotter of them hot.
func (m *Marked) splitLines(p *plates, n, hotter int) []line {
	var out []line
	size := splitSize * m.text * p.splits.scale
	for i, s := range m.spec.Splits[:n] {
		hot := i >= n-hotter
		quiet := muted
		if hot {
			quiet = paper
		}
		var cells []cell
		for k, text := range s[:min(len(s), p.cells)] {
			col := paper
			if k == 0 {
				col = quiet
			}
			cells = append(cells, cell{text, writing{size: size, bold: k == 1, col: col}})
		}
		if !p.stacked {
			out = append(out, line{cells: cells, hot: hot})
			continue
		}
		for _, c := range cells {
			if !c.bold {
				c.size *= 0.8
			}
			out = append(out, line{cells: []cell{c}, hot: hot})
		}
	}
	return out
}

// write lays the plates of a moment.
func (m *Marked) write(mo MarkedMoment) {
	p := &m.plates
	if p.title != nil {
		m.layer.stamp(p.title, p.titleAt)
	}
	if lines := m.readingLines(mo.Clock, mo.Readings, p.readings.scale); len(lines) > 0 {
		m.layer.stamp(m.plate(lines, p.readings.columns, m.pad()), p.readings.at)
	}
	if mo.Splits == 0 {
		return
	}
	key := fmt.Sprint(mo.Splits, mo.Fresh)
	if p.drawn[key] == nil {
		lines := m.splitLines(p, mo.Splits, mo.Fresh)
		each := len(lines) / mo.Splits
		p.drawn[key] = m.plate(lines[max(0, len(lines)-each*p.most):], p.splits.columns, m.pad())
	}
	m.layer.stamp(p.drawn[key], p.splits.at)
}
