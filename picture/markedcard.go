package picture

import (
	"image/color"
	"math"
)

// MarkedCard is what stands at the end of a marked clip: the launch and its chief answers.
type MarkedCard struct {
	Title string
	Under string // what was flown
	Rows  []CardRow
	Foot  []string
}

// CardRow is an answer in words.
type CardRow struct{ Label, Value, Interval string }

// shade is what the last picture lies under: its outlines are still seen.
var shade = faded(ink, 0xe4)

// said is a piece of text on the card.
type said struct {
	text  string
	size  float64 // in letters of the running text
	bold  bool
	col   color.NRGBA
	above float64 // room above it, likewise
	lines int     // at most
}

// said lists what a card says, from the top down.
func (c MarkedCard) said() []said {
	out := []said{{text: c.Title, size: 1.25, bold: true, col: paper, lines: 3}, {text: c.Under, size: 0.75, col: muted, above: 0.3, lines: 3}}
	for _, r := range c.Rows {
		out = append(out, said{text: r.Label, size: 0.75, col: muted, above: 0.9, lines: 2}, said{text: r.Value, size: 1.35, bold: true, col: paper, lines: 2},
			said{text: r.Interval, size: 0.8, col: paper, lines: 3})
	}
	for i, f := range c.Foot {
		out = append(out, said{text: f, size: 0.65, col: muted, above: max(0, 1.2-float64(i)), lines: 2})
	}
	return out
}

// MarkCard draws a card over the whole canvas: Frame and Alpha then have it. Where it is too long
// for the canvas all of it is set smaller.
func (m *Marked) MarkCard(c MarkedCard) {
	m.layer.wipe()
	m.layer.touch(m.layer.Rect)
	m.layer.fill(m.layer.Rect, shade)
	size := m.text
	lines, height, wide := m.set(c, size)
	for range 8 {
		if height <= float64(m.safe.Dy()) || size <= 9 {
			break
		}
		size = max(9, math.Floor(size*max(0.6, float64(m.safe.Dy())/height)-0.5))
		lines, height, wide = m.set(c, size)
	}
	x := float64(m.safe.Min.X) + max(0, (float64(m.safe.Dx())-wide)/2)
	y := float64(m.safe.Min.Y) + max(0, (float64(m.safe.Dy())-height)/2)
	for _, s := range lines {
		y += s.above
		w := writing{size: s.size, bold: s.bold, col: s.col, most: float64(m.safe.Dx())}
		m.letters.text(m.layer.canvas, x, y+0.8*lineStep*s.size, s.text, w)
		y += lineStep * s.size
	}
}

// set breaks a card into lines, sizes now in px, and says how high and wide it is.
func (m *Marked) set(c MarkedCard, size float64) (lines []said, height, wide float64) {
	for _, s := range c.said() {
		s.size, s.above = math.Round(s.size*size), s.above*size
		for _, text := range m.wrapped(s.text, float64(m.safe.Dx()), s.size, s.bold, s.lines) {
			one := s
			one.text = text
			lines = append(lines, one)
			height += one.above + lineStep*one.size
			wide = max(wide, min(float64(m.safe.Dx()), m.letters.width(text, one.size, one.bold)))
			s.above = 0
		}
	}
	return lines, height, wide
}
