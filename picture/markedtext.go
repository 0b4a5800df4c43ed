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

// plate writes lines on a dark ground that ends pad px beyond them. Columns may be given, at least
// as wide as the text; those but the first end flush right.
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

// title is the title's plate, no wider than room within its pads: in two lines, or smaller in
// three, or cut at a word.
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

// wrapped breaks a text between words into lines of at most so wide, the last of which may be wider
// where there would be more than most.
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
