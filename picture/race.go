package picture

import (
	"fmt"
	"image"
	"math"
)

// Race is the paper a race is drawn on: the launches' footage side by side, their heights on one axis, below them the pens that
// draw their speeds as they grow. Frame draws one instant after another.
type Race struct {
	spec    RaceSpec
	panels  []panel
	rows    raceRows
	chart   chart
	paper   canvas // what stays from instant to instant, and what the pens have drawn
	out     canvas
	letters *lettering
}

// RaceSpec says what is raced. Heights are m above the traced point at rest, times s after first motion, speeds m/s.
type RaceSpec struct {
	Panels   []RacePanel
	Finish   Level
	Levels   []Level // other heights to mark
	AsFilmed bool    // each panel at its own scale; else all at the same metres per pixel
	From, To float64 // times
	Caption  string  // beside the clock
	TopSpeed float64
	Speed    Axis
}

// Level is a height with its words.
type Level struct {
	Height float64
	Label  string
}

// Axis says how a quantity is written: shown = SI * Scale.
type Axis struct {
	Label string // with the unit
	Scale float64
}

// RacePanel is the footage of one launch.
type RacePanel struct {
	Title         string
	Width, Height int                       // px, of the footage's picture
	Crop          image.Rectangle           // the part of it that is shown; empty: all
	Turns         int                       // quarter turns clockwise that make the flight go up the panel
	Place         func(height float64) Spot // where the flight line passes a height, in the footage's picture or beyond it
	Below         float64                   // m to be shown below the height 0
}

// Sizes of a race's paper, px.
const (
	panelTall   = 640
	panelWidest = 400
	racePaper   = 1920 // the widest
	raceGap     = 10
	chartTall   = 180
)

// raceRows are the edges from the top down, px.
type raceRows struct {
	text                             float64 // size of the letters
	clock, title, top, bottom, words int
	chartTop, chartBottom            int
	left, right                      int
}

// NewRace lays out the paper. It fails where a panel's rest and finish are seen at one place.
func NewRace(spec RaceSpec) (*Race, error) {
	r := &Race{spec: spec, letters: newLettering()}
	below := 0.0
	for _, p := range spec.Panels {
		below = max(below, p.Below)
	}
	lo, hi := -below, 1.08*spec.Finish.Height
	need := 0.0
	for _, p := range spec.Panels {
		q := panel{RacePanel: p}
		if q.Crop.Empty() {
			q.Crop = image.Rect(0, 0, p.Width, p.Height)
		}
		if err := q.scale(lo, hi, &spec); err != nil {
			return nil, err
		}
		need = max(need, q.k*q.across())
		r.panels = append(r.panels, q)
	}
	n := len(r.panels)
	const axis, margin = 84, 16
	most := (racePaper - axis - 2*margin - (n-1)*raceGap) / n
	wide := int(min(max(math.Ceil(need), 180), panelWidest, float64(most)))
	for n*wide+(n-1)*raceGap+axis < 480 { // room for the clock
		wide++
	}
	r.layout(wide, axis, margin)
	for i := range r.panels {
		q := &r.panels[i]
		x := r.rows.left + i*(wide+raceGap)
		q.lay(image.Rect(x, r.rows.top, x+wide, r.rows.bottom))
	}
	r.print()
	return r, nil
}

// layout fixes the rows of the paper. Its size is even, as clips want it.
func (r *Race) layout(wide, axis, margin int) {
	n := len(r.panels)
	t := min(max(float64(wide)/10.5, 17), 30)
	w := &r.rows
	w.text = t
	down := func(lines float64) int { return int(math.Round(lines * t)) }
	w.left, w.right = margin+axis, margin+axis+n*wide+(n-1)*raceGap
	w.clock = down(2.3)
	w.title = w.clock + down(1.9)
	w.top = w.title + down(0.9)
	w.bottom = w.top + panelTall
	w.words = w.bottom + down(1.35)
	w.chartTop = w.words + down(4.3)
	w.chartBottom = w.chartTop + chartTall
	width, height := w.right+margin, w.chartBottom+down(2.7)
	width, height = width+width%2, height+height%2
	r.paper, r.out = newCanvas(width, height, paper), newCanvas(width, height, paper)
}

// Size is the size of the frames, px; both are even.
func (r *Race) Size() (w, h int) { return r.paper.Rect.Dx(), r.paper.Rect.Dy() }

// Where is where a point of launch i's footage (from 0) is seen on the paper.
func (r *Race) Where(i int, s Spot) Spot { return r.panels[i].at(s) }

// print draws what never changes.
func (r *Race) print() {
	c, w, l := r.paper, &r.rows, r.letters
	l.text(c, float64(w.right), float64(w.clock), r.spec.Caption, writing{size: 0.85 * w.text, col: ink, at: right,
		most: float64(w.right-w.left) - 8.5*w.text})
	size := r.titleSize()
	for i := range r.panels {
		p := &r.panels[i]
		_, textInk, s := penOf(i, 4)
		x := float64(p.box.Min.X)
		used := l.text(c, x, float64(w.title), fmt.Sprint(i+1), writing{size: 1.15 * w.text, bold: true, col: textInk})
		l.text(c, x+used+0.4*w.text, float64(w.title), p.Title, writing{size: size, col: ink, most: float64(p.box.Dx()) - used - 0.4*w.text, kept: true})
		y := float64(w.title) + 0.5*w.text
		s.to(c, c.Rect, Spot{X: x, Y: y})
		s.to(c, c.Rect, Spot{X: float64(p.box.Max.X), Y: y})
		c.fill(p.box, nothing)
	}
	if !r.spec.AsFilmed {
		r.heights()
	}
	r.chart = r.newChart()
}

// titleSize is the size at which all titles fit, but no less than is read at the width of a telephone.
func (r *Race) titleSize() float64 {
	const least = 0.85
	size := r.rows.text
	for i := range r.panels {
		number := r.letters.width(fmt.Sprint(i+1), 1.15*r.rows.text, true)
		room := float64(r.panels[i].box.Dx()) - number - 0.4*r.rows.text
		size = min(size, r.letters.fitting(r.panels[i].Title, writing{size: r.rows.text, most: room}))
	}
	return max(size, least*r.rows.text)
}

// heights writes the axis of the heights to the left of the panels; the rows are the first panel's.
func (r *Race) heights() {
	w := &r.rows
	last := math.Inf(1)
	write := func(v Level, bold bool, col writing) {
		y := r.panels[0].row(v.Height)
		if y < float64(w.top)-1 || y > float64(w.bottom) || math.Abs(last-y) < w.text {
			return
		}
		last = y
		col.bold, col.size, col.at = bold, 0.9*w.text, right
		r.letters.text(r.paper, float64(w.left)-9, y+0.32*w.text, v.Label, col)
	}
	write(r.spec.Finish, true, writing{col: gate})
	for i := len(r.spec.Levels) - 1; i >= 0; i-- {
		write(r.spec.Levels[i], false, writing{col: ink})
	}
}

// ownHeights writes the heights into a panel that has a scale of its own, as far as there is room between them.
func (r *Race) ownHeights(p *panel) {
	size := 0.8 * r.rows.text
	last := math.Inf(1)
	for k := len(r.spec.Levels); k >= 0; k-- {
		l, col := r.spec.Finish, gate
		if k < len(r.spec.Levels) {
			l, col = r.spec.Levels[k], ink
		}
		y := p.row(l.Height)
		if y < float64(p.box.Min.Y)+size || y > float64(p.box.Max.Y) || math.Abs(y-last) < 1.3*size {
			continue
		}
		last = y
		wide := int(r.letters.width(l.Label, size, false))
		r.out.fill(image.Rect(p.box.Max.X-wide-8, int(y-size)-1, p.box.Max.X, int(y)-2), faded(paper, 0xd0))
		r.letters.text(r.out, float64(p.box.Max.X-4), y-0.22*size-2, l.Label, writing{size: size, col: col, at: right})
	}
}

// RaceMoment is one launch at an instant.
type RaceMoment struct {
	Print         *image.RGBA // from Print; nil: the panel stays as it is
	Height, U     float64     // m, with its standard uncertainty
	Speed, USpeed float64     // m/s
	Reading       string      // the speed in words
	Note          string      // what is to be known of the picture
	Place, Time   string      // once it has finished
	Still         bool        // nothing new comes: the pen is lifted
}

// Frame draws the race at an instant; instants go up. The result is overwritten by the next call.
func (r *Race) Frame(t float64, clock [2]string, moments []RaceMoment) *image.RGBA {
	for i := range moments {
		if m := moments[i].Print; m != nil {
			blit(r.paper, r.panels[i].box.Min, m)
		}
		if m := &moments[i]; !m.Still {
			r.chart.draw(r.paper, i, t, m.Speed, m.USpeed)
		}
	}
	copy(r.out.Pix, r.paper.Pix)
	r.clock(clock)
	for i := range moments {
		r.moment(i, &moments[i])
	}
	r.chart.cursor(r.out, r.letters, t, moments)
	return r.out.RGBA
}

// clock writes the time since first motion: large in the first unit, small in the second.
func (r *Race) clock(words [2]string) {
	w := &r.rows
	used := r.letters.text(r.out, float64(w.left), float64(w.clock), words[0], writing{size: 2.1 * w.text, bold: true, col: ink})
	r.letters.text(r.out, float64(w.left)+max(used, 5.2*w.text)+0.8*w.text, float64(w.clock), words[1], writing{size: w.text, col: ink})
}

// moment draws one launch's instant: the pointer at its height, its words, and, once it has finished, its place at the line.
func (r *Race) moment(i int, m *RaceMoment) {
	p, w, l := &r.panels[i], &r.rows, r.letters
	inkOf, textInk, _ := penOf(i, 4)
	if r.spec.AsFilmed {
		r.ownHeights(p)
	}
	p.pointer(r.out, m, inkOf)
	x, most := float64(p.box.Min.X), float64(p.box.Dx())
	line := func(k float64, s string, wr writing) {
		wr.most = most
		l.text(r.out, x, float64(w.words)+k*w.text, s, wr)
	}
	line(0, m.Reading, writing{size: 1.08 * w.text, bold: true, col: ink})
	if m.Place == "" {
		line(1.35, m.Note, writing{size: 0.85 * w.text, col: ink})
		return
	}
	line(1.35, m.Time, writing{size: 1.08 * w.text, bold: true, col: textInk})
	line(2.6, m.Note, writing{size: 0.85 * w.text, col: ink})
	r.out.frame(p.box, 4, inkOf)
	y := p.row(r.spec.Finish.Height)
	size := 1.5 * w.text
	wide := l.width(m.Place, size, true) + 0.8*w.text
	tag := image.Rect(p.box.Max.X-int(wide)-4, int(y)+4, p.box.Max.X-4, int(y)+4+int(1.35*size))
	if p.falls {
		tag = tag.Sub(image.Pt(0, tag.Dy()+8))
	}
	r.out.fill(tag, paper)
	l.text(r.out, float64(tag.Min.X)+0.4*w.text, float64(tag.Max.Y)-0.36*size, m.Place, writing{size: size, bold: true, col: textInk})
}

// blit copies a picture to a place.
func blit(c canvas, at image.Point, m *image.RGBA) {
	for y := range m.Rect.Dy() {
		copy(c.Pix[c.PixOffset(at.X, at.Y+y):], m.Pix[y*m.Stride:y*m.Stride+4*m.Rect.Dx()])
	}
}
