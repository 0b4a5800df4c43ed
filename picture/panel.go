package picture

import (
	"fmt"
	"image"
	"image/color"
	"math"

	"golang.org/x/image/draw"
	"golang.org/x/image/math/f64"
)

// nothing is what a panel shows where its footage shows nothing.
var nothing = color.NRGBA{0xe4, 0xdf, 0xd3, 0xff}

// panel is the footage of one launch on a race's paper. A point of the footage's picture is turned, then enlarged by k, then shifted.
type panel struct {
	RacePanel
	box      image.Rectangle // on the paper
	k        float64         // px of the paper for one of the footage
	falls    bool            // the flight goes down the panel
	rest, to Spot            // where height 0 and the finish are seen, turned, px of the footage
	restRow  float64         // px below the panel's top
	shift    Spot            // of the turned and enlarged picture against the paper
	levels   []float64       // heights marked
	finish   float64
}

// turned is where a point of the footage's picture lies once it is turned.
func (p *panel) turned(s Spot) Spot {
	w, h := float64(p.Width-1), float64(p.Height-1)
	switch p.Turns & 3 {
	case 1:
		return Spot{X: h - s.Y, Y: s.X}
	case 2:
		return Spot{X: w - s.X, Y: h - s.Y}
	case 3:
		return Spot{X: s.Y, Y: w - s.X}
	}
	return s
}

// shown are the edges of the part that is shown, turned: px of the footage, the corners of its pixels at halves.
func (p *panel) shown() (lo, hi Spot) {
	corner := func(x, y int) Spot { return p.turned(Spot{X: float64(x) - 0.5, Y: float64(y) - 0.5}) }
	a, b := corner(p.Crop.Min.X, p.Crop.Min.Y), corner(p.Crop.Max.X, p.Crop.Max.Y)
	return Spot{X: min(a.X, b.X), Y: min(a.Y, b.Y)}, Spot{X: max(a.X, b.X), Y: max(a.Y, b.Y)}
}

// across is how wide the part that is shown is, turned, px of the footage.
func (p *panel) across() float64 {
	lo, hi := p.shown()
	return hi.X - lo.X
}

// scale finds the enlargement: heights lo..hi fill the panel, or, as filmed, the whole picture does.
func (p *panel) scale(lo, hi float64, spec *RaceSpec) error {
	p.finish = spec.Finish.Height
	for _, l := range spec.Levels {
		p.levels = append(p.levels, l.Height)
	}
	p.rest, p.to = p.turned(p.Place(0)), p.turned(p.Place(p.finish))
	reach := math.Abs(p.to.Y - p.rest.Y)
	if !(reach > 1) {
		return fmt.Errorf("lay out a race: %s shows %g m over %.2g px", p.Title, p.finish, reach)
	}
	p.falls = p.to.Y > p.rest.Y
	perMetre := panelTall / (hi - lo)
	p.k, p.restRow = perMetre*p.finish/reach, perMetre*hi
	if p.falls {
		p.restRow = -perMetre * lo
	}
	if spec.AsFilmed {
		lo, hi := p.shown()
		p.k = panelTall / (hi.Y - lo.Y)
		p.restRow = p.k * (p.rest.Y - lo.Y)
	}
	return nil
}

// lay puts the panel into its box: the flight in the middle, as far as the picture then fills the box.
func (p *panel) lay(box image.Rectangle) {
	p.box = box
	wide := float64(box.Dx())
	x := wide/2 - p.k*((p.rest.X+p.to.X)/2+0.5)
	lo, hi := p.shown()
	from, to := x+p.k*(lo.X+0.5), x+p.k*(hi.X+0.5) // the part's edges in the box
	if to-from >= wide {
		x -= max(0, from) + min(0, to-wide)
	} else {
		x -= min(0, from) + max(0, to-wide)
	}
	p.shift = Spot{X: x, Y: p.restRow - p.k*(p.rest.Y+0.5)}
}

// at is where a point of the footage's picture is seen on the paper.
func (p *panel) at(s Spot) Spot {
	q := p.turned(s)
	return Spot{X: float64(p.box.Min.X) + p.shift.X + p.k*(q.X+0.5) - 0.5, Y: float64(p.box.Min.Y) + p.shift.Y + p.k*(q.Y+0.5) - 0.5}
}

// row is where a height is seen on the paper.
func (p *panel) row(height float64) float64 { return p.at(p.Place(height)).Y }

// matrix takes a point of the footage, its pixels' corners at whole numbers, to the panel.
func (p *panel) matrix(dx, dy float64) f64.Aff3 {
	w, h, k := float64(p.Width), float64(p.Height), p.k
	var m f64.Aff3
	switch p.Turns & 3 {
	case 0:
		m = f64.Aff3{k, 0, 0, 0, k, 0}
	case 1:
		m = f64.Aff3{0, -k, k * h, k, 0, 0}
	case 2:
		m = f64.Aff3{-k, 0, k * w, 0, -k, k * h}
	case 3:
		m = f64.Aff3{0, k, 0, -k, 0, k * w}
	}
	m[2] += p.shift.X - m[0]*dx - m[1]*dy
	m[5] += p.shift.Y - m[3]*dx - m[4]*dy
	return m
}

// coarse is the enlargement under which single pixels would be left out.
const coarse = 0.55

// Print makes panel i's picture of a frame, with the lines of the heights. What was at (x, y) at rest is seen at (x+dx, y+dy) in
// it: a camera that shakes. It may be called for several panels at once.
func (r *Race) Print(i int, frame image.Image, dx, dy float64) *image.RGBA {
	p := &r.panels[i]
	out := newCanvas(p.box.Dx(), p.box.Dy(), nothing)
	source := rgba(frame)
	part := p.Crop.Intersect(source.Rect)
	if p.k < coarse {
		draw.BiLinear.Transform(out.RGBA, p.matrix(dx, dy), source, part, draw.Src, nil)
	} else {
		enlarge(out, p.matrix(dx, dy), source, part)
	}
	for _, h := range p.levels {
		p.line(out, h, 1, color.NRGBA{ink.R, ink.G, ink.B, 0x90}, color.NRGBA{paper.R, paper.G, paper.B, 0x90})
	}
	p.line(out, p.finish, 3, gate, paper)
	return out.RGBA
}

// line draws a height across the panel's picture: dark with a pale edge, to be seen on any ground.
func (p *panel) line(c canvas, height, width float64, dark, pale color.NRGBA) {
	y := p.row(height) - float64(p.box.Min.Y)
	c.level(y-width/2-0.75, 1.5, pale)
	c.level(y, width, dark)
}

// pointer shows how high the traced point is by the motion: a wedge at the panel's edge with a line to the point, and a bar over the
// 95 % interval.
func (p *panel) pointer(c canvas, m *RaceMoment, col color.NRGBA) {
	const long, half = 16, 7
	y := p.row(m.Height)
	if y < float64(p.box.Min.Y) || y > float64(p.box.Max.Y) {
		return
	}
	x := float64(p.box.Min.X)
	lo, hi := p.row(m.Height-2*m.U), p.row(m.Height+2*m.U)
	if math.Abs(hi-lo) > 3 {
		polygon(c, p.box, paper, Spot{X: x, Y: lo}, Spot{X: x + 7, Y: lo}, Spot{X: x + 7, Y: hi}, Spot{X: x, Y: hi})
		polygon(c, p.box, col, Spot{X: x, Y: lo}, Spot{X: x + 5, Y: lo}, Spot{X: x + 5, Y: hi}, Spot{X: x, Y: hi})
	}
	to := p.at(p.Place(m.Height)).X
	segmentIn(c, p.box, Spot{X: x, Y: y - 1.5}, Spot{X: to, Y: y - 1.5}, 1, faded(paper, 0xc0))
	segmentIn(c, p.box, Spot{X: x, Y: y}, Spot{X: to, Y: y}, 2, col)
	polygon(c, p.box, paper, Spot{X: x, Y: y - half - 3}, Spot{X: x + long + 4, Y: y}, Spot{X: x, Y: y + half + 3})
	polygon(c, p.box, col, Spot{X: x, Y: y - half}, Spot{X: x + long, Y: y}, Spot{X: x, Y: y + half})
}
