package picture

import (
	"image"
	"image/color"
	"math"

	"golang.org/x/image/draw"
)

// Marked is the paper of a marked clip: one launch's footage at its own size, and on it, moment
// after moment, its gates, the followed point, a clock, what the motion is just then, and the
// splits so far. All that is drawn lies on a transparent layer, so that it can be had with the
// footage or by itself. Text stands on dark plates and lines have pale edges: both are seen on any
// footage.
type Marked struct {
	spec    MarkedSpec
	layer   *layer
	out     *image.RGBA // canvas with footage and marks
	beside  tiles       // of out that marks were laid on
	letters *lettering
	text    float64         // px, size of the letters
	safe    image.Rectangle // what a player may cover lies outside
	flight  float64         // px of the canvas, where across it the flight is
	labels  []*image.RGBA   // of the gates; nil: none, as another's is too near
	plates  plates
}

// MarkedSpec says what is marked. Places are px of the footage's picture.
type MarkedSpec struct {
	Fit      Fitted
	Title    string
	Caption  string       // under it
	Gates    []MarkedGate // rising or falling
	Flight   [2]Spot      // the flight line's two ends in view
	Clock    string       // the widest clock there will be
	Readings []string     // the widest readings
	Splits   [][]string   // all there will be, in order of time; of each its cells: what, when, how fast
}

// MarkedGate is a height to be marked.
type MarkedGate struct {
	Label string
	Line  []Spot // at rest
}

// MarkedMoment is what is known at a frame. The zero value marks nothing. Places are px of this
// frame.
type MarkedMoment struct {
	Clock    string
	Readings []string
	Splits   int      // how many have been passed
	Fresh    int      // of these, how many just now
	Gates    [][]Spot // each gate's line; nil: not known where
	Passed   []bool   // each gate
	Trail    []Spot   // the way to Here, oldest first
	Here     *Spot    // the followed point; nil: not seen
}

// Sizes of what is written, in letters of the running text.
const (
	titleSize   = 1.0
	captionSize = 0.7
	splitSize   = 0.8
	clockSize   = 1.9
	labelSize   = 0.72
	lineStep    = 1.25 // from line to line, in sizes
)

var (
	padded = color.NRGBA{0x10, 0x15, 0x1b, 0xff} // beside the footage
	plate  = faded(ink, 0xcc)
	pale   = faded(paper, 0xd0) // edges of lines
	muted  = color.NRGBA{0xd5, 0xd0, 0xc4, 0xff}
	// fresh lies under what is new: the trace's ink, darker, so that text on it is read.
	fresh = color.NRGBA{0xb4, 0x3a, 0x0a, 0xff}
	// gateBright is the ink of gates on footage: lighter than on paper.
	gateBright = color.NRGBA{0x1a, 0x9a, 0xb0, 0xff}
)

// NewMarked lays out the paper.
func NewMarked(spec MarkedSpec) *Marked {
	w, h := spec.Fit.Canvas.X, spec.Fit.Canvas.Y
	m := &Marked{spec: spec, layer: newLayer(w, h), letters: newLettering()}
	m.text = phoneText(w, h)
	m.safe = safeArea(w, h)
	a, b := spec.Fit.On(spec.Flight[0]), spec.Fit.On(spec.Flight[1])
	m.flight = min(max((a.X+b.X)/2, 0), float64(w))
	m.out, m.beside = newCanvas(w, h, padded).RGBA, newTiles(w, h)
	m.plates = m.arrange()
	m.label()
	return m
}

// phoneText is the size of text that is read on a telephone which shows the picture across its
// width, or over its height where it is that tall: 3 to 4 mm on a screen of 65 by 140 mm (common
// practice, no source), and 13 px at least.
func phoneText(w, h int) float64 {
	return math.Round(max(13, min(float64(w)/18, float64(h)/22)))
}

// safeArea keeps 5 % from the edges, and of an upright picture more from above and below, where
// players lay their controls (common practice, no source).
func safeArea(w, h int) image.Rectangle {
	edge := min(w, h) / 20
	top, bottom := edge, edge
	if 2*h > 3*w {
		top, bottom = h*6/100, h*11/100
	}
	return image.Rect(edge, top, w-edge, h-bottom)
}

// Size is the size of the frames, px; both are even.
func (m *Marked) Size() (w, h int) { return m.spec.Fit.Canvas.X, m.spec.Fit.Canvas.Y }

// Mark draws what is known at a moment: Frame and Alpha then have it.
func (m *Marked) Mark(mo MarkedMoment) {
	m.layer.wipe()
	for i, line := range mo.Gates {
		if len(line) > 0 {
			m.gate(i, m.on(line), i < len(mo.Passed) && mo.Passed[i])
		}
	}
	m.trail(m.on(mo.Trail))
	if mo.Here != nil {
		m.ring(m.spec.Fit.On(*mo.Here))
	}
	m.write(mo)
}

// on takes places to the canvas.
func (m *Marked) on(points []Spot) []Spot {
	out := make([]Spot, len(points))
	for i, p := range points {
		out[i] = m.spec.Fit.On(p)
	}
	return out
}

// Frame is a frame of the footage on the canvas, with what was marked laid over it. It is drawn
// anew by the next call.
func (m *Marked) Frame(frame image.Image) *image.RGBA {
	f := m.spec.Fit
	m.beside.each(func(r image.Rectangle) { canvas{m.out}.fill(r, padded) })
	copy(m.beside.on, m.layer.inked.on)
	draw.Draw(m.out, image.Rectangle{Min: f.At, Max: f.At.Add(f.Part.Size())}, frame, frame.Bounds().Min.Add(f.Part.Min), draw.Src)
	m.layer.over(m.out)
	return m.out
}

// Alpha is what was marked, alone, with colours not multiplied by alpha. It is drawn anew by the
// next call.
func (m *Marked) Alpha() *image.NRGBA { return m.layer.straight() }

// fine is the width of a line, px.
func (m *Marked) fine() float64 { return max(1.5, m.text/14) }

// gate draws a gate's line and its label at the end away from the text.
func (m *Marked) gate(i int, line []Spot, passed bool) {
	col, width := gateBright, m.fine()
	if passed {
		col = pen
	}
	m.layer.way(line, width+2*max(1, width/2), pale)
	m.layer.way(line, width, col)
	label := m.labels[i]
	if label == nil {
		return
	}
	end, gap := line[len(line)-1], m.text/5
	x := end.X + gap
	if m.plates.right {
		end = line[0]
		x = end.X - gap - float64(label.Rect.Dx())
	}
	x = min(max(x, 2), float64(m.layer.Rect.Dx()-label.Rect.Dx()-2))
	m.layer.stamp(label, image.Pt(int(math.Round(x)), int(math.Round(end.Y+0.5-float64(label.Rect.Dy())/2))))
}

// label makes the gates' labels, and leaves out those too near to another: the highest and the
// lowest stay.
func (m *Marked) label() {
	size := labelSize * m.text
	m.labels = make([]*image.RGBA, len(m.spec.Gates))
	room := func(i, k int) bool {
		a, b := m.spec.Gates[i].Line, m.spec.Gates[k].Line
		return len(a) > 0 && len(b) > 0 && math.Abs(a[len(a)-1].Y-b[len(b)-1].Y) > 1.5*size
	}
	last := len(m.spec.Gates) - 1
	before := last
	for i := last; i >= 0; i-- {
		if i < last && (!room(i, before) || i > 0 && !room(i, 0)) {
			continue
		}
		before = i
		m.labels[i] = m.plate([]line{{cells: []cell{{m.spec.Gates[i].Label, writing{size: size, bold: true, col: paper}}}}}, nil, size/3)
	}
}

// trailing is how wide a trail is in fine lines.
const trailing = 1.6

// trail draws the way to the followed point, older bits fainter.
func (m *Marked) trail(points []Spot) {
	width := trailing * m.fine()
	for i := 1; i < len(points); i++ {
		alpha := uint8(0xff * i / len(points))
		m.layer.line(points[i-1], points[i], width+2, faded(paper, alpha/2))
		m.layer.line(points[i-1], points[i], width, faded(pen, alpha))
	}
}

// ring draws a circle about the followed point, with the point itself left free.
func (m *Marked) ring(at Spot) {
	const pieces = 28
	r, width := m.text/2.2, m.fine()
	points := make([]Spot, pieces+1)
	for i := range points {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / pieces)
		points[i] = Spot{X: at.X + r*cos, Y: at.Y + r*sin}
	}
	m.layer.way(points, width+2.4, pale)
	m.layer.way(points, width, pen)
}
