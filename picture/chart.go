package picture

import (
	"fmt"
	"image"
	"math"
)

// chart is a strip of recorder's paper on which pens draw quantities against time.
type chart struct {
	box      image.Rectangle
	text     float64
	from, to float64 // time, s
	top      float64 // SI
	pens     []stroke
	column   []int // the last one each pen's band has reached
	last     []Spot
}

// rule is the colour of the chart's ruling.
var rule = faded(ink, 0x22)

// endRoom is how much longer the axis is than the race, for the pens' numbers.
const endRoom = 0.06

// newChart rules the strip.
func (r *Race) newChart() chart {
	w := &r.rows
	c := chart{box: image.Rect(w.left, w.chartTop, w.right, w.chartBottom), text: w.text, from: r.spec.From, to: r.spec.To + endRoom*(r.spec.To-r.spec.From), top: 1.08 * max(r.spec.TopSpeed, 1e-9)}
	for i := range r.panels {
		_, _, s := penOf(i, 3)
		c.pens, c.column, c.last = append(c.pens, s), append(c.column, c.box.Min.X-1), append(c.last, Spot{})
	}
	l, p := r.letters, r.paper
	p.fill(c.box, faded(nothing, 0x50))
	scale := r.spec.Speed.Scale
	for _, t := range ticks(0, c.top*scale, 5) {
		y := c.y(t.at / scale)
		segment(p, Spot{X: float64(c.box.Min.X), Y: y}, Spot{X: float64(c.box.Max.X), Y: y}, 1, rule)
		l.text(p, float64(c.box.Min.X)-9, y+0.3*w.text, t.label, writing{size: 0.8 * w.text, col: ink, at: right})
	}
	unit, words := timeUnit(max(math.Abs(c.from), c.to))
	for _, t := range ticks(c.from*unit, c.to*unit, c.box.Dx()/int(3.2*w.text)) {
		x := c.x(t.at / unit)
		segment(p, Spot{X: x, Y: float64(c.box.Min.Y)}, Spot{X: x, Y: float64(c.box.Max.Y)}, 1, rule)
		l.text(p, x, float64(c.box.Max.Y)+1.05*w.text, t.label, writing{size: 0.8 * w.text, col: ink, at: middle})
	}
	x := c.x(0)
	segment(p, Spot{X: x, Y: float64(c.box.Min.Y)}, Spot{X: x, Y: float64(c.box.Max.Y)}, 1.5, gate)
	segment(p, Spot{X: float64(c.box.Min.X), Y: float64(c.box.Max.Y)}, Spot{X: float64(c.box.Max.X), Y: float64(c.box.Max.Y)}, 1.5, ink)
	l.text(p, float64(c.box.Min.X), float64(c.box.Min.Y)-0.4*w.text, r.spec.Speed.Label, writing{size: 0.85 * w.text, col: ink})
	l.text(p, float64(c.box.Max.X), float64(c.box.Max.Y)+2.1*w.text, "time since first motion, "+words, writing{size: 0.85 * w.text, col: ink, at: right})
	return c
}

// timeUnit says in which unit an axis of so many seconds is labelled.
func timeUnit(seconds float64) (perSecond float64, symbol string) {
	if seconds < 2 {
		return 1e3, "ms"
	}
	return 1, "s"
}

func (c *chart) x(t float64) float64 {
	return float64(c.box.Min.X) + (t-c.from)/(c.to-c.from)*float64(c.box.Dx()-1)
}

func (c *chart) y(v float64) float64 {
	return float64(c.box.Max.Y) - 1 - v/c.top*float64(c.box.Dy()-1)
}

// draw moves pen i on to a value at time t, with a band of twice its standard uncertainty.
func (c *chart) draw(p canvas, i int, t, v, u float64) {
	if t < c.from || t > c.to {
		return
	}
	at := Spot{X: c.x(t), Y: c.y(v)}
	lo, hi := c.y(v-2*u), c.y(v+2*u)
	for x := max(c.column[i]+1, c.box.Min.X); x <= int(at.X); x++ {
		band := image.Rect(x, int(math.Round(hi)), x+1, int(math.Round(lo))+1).Intersect(c.box)
		if band.Dy() > 2 {
			p.fill(band, faded(pens[i%len(pens)], 0x38))
		}
		c.column[i] = x
	}
	c.pens[i].to(p, c.box, at)
	c.last[i] = at
}

// cursor shows the instant, and which pen is whose.
func (c *chart) cursor(p canvas, l *lettering, t float64, moments []RaceMoment) {
	if t >= c.from && t <= c.to {
		x := c.x(t)
		segment(p, Spot{X: x, Y: float64(c.box.Min.Y)}, Spot{X: x, Y: float64(c.box.Max.Y)}, 1.5, faded(ink, 0xa0))
	}
	taken := []Spot{}
	for i := range moments {
		if c.pens[i].at == nil {
			continue
		}
		_, col, _ := penOf(i, 1)
		at := Spot{X: c.last[i].X + 7, Y: c.last[i].Y + 0.35*c.text}
		for _, other := range taken { // numbers stand beside each other
			if math.Abs(other.X-at.X) < 0.6*c.text && math.Abs(other.Y-at.Y) < 0.85*c.text {
				at.X = other.X + 0.7*c.text
			}
		}
		at.X = min(at.X, float64(c.box.Max.X)-0.6*c.text)
		taken = append(taken, at)
		l.text(p, at.X, at.Y, fmt.Sprint(i+1), writing{size: 0.9 * c.text, bold: true, col: col})
	}
}
