package picture

import (
	"image"
	"math"
)

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

// set is how a plate is set: its corner, the size of its letters against the usual, the widths of
// its columns.
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

// arrange finds the places of all plates: title and readings to that side of the flight that has
// more room, the splits to the other where they have room there, else between title and readings.
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

// fitted is the scale, 1 or less, at which lines are no wider than room, but no less than least;
// columns are then theirs.
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

// setSplits sets the splits no wider than room: without how fast, then smaller, then in two lines
// each. It reports false where that is not enough.
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

// labelled is how far the gates' lines and labels reach to the side away from the readings, px from
// the flight's clearance.
func (m *Marked) labelled() float64 {
	out := 0.0
	for _, g := range m.spec.Gates {
		if n := len(g.Line); n > 0 {
			out = max(out, (g.Line[n-1].X-g.Line[0].X)/2+m.text/5+m.letters.width(g.Label, labelSize*m.text, true)+m.text)
		}
	}
	return max(0, out-besides*m.text)
}
