package main

import (
	"bytes"
	"fmt"
	"math"

	"padside/desk"
	"padside/flight"
)

// panel is where one curve is drawn, px.
type panel struct {
	x, y, w, h             float64
	fromX, toX, fromY, toY float64
}

func (p *panel) px(x float64) float64 { return p.x + (x-p.fromX)/(p.toX-p.fromX)*p.w }
func (p *panel) py(y float64) float64 { return p.y + p.h - (y-p.fromY)/(p.toY-p.fromY)*p.h }

// plot draws the model's curves with their bands, the launches, and the truth as a dashed line.
func plot(s *desk.CompareSheet, b flight.Bottle) []byte {
	var out bytes.Buffer
	const w, h = 430.0, 230.0
	rows := (len(s.Model.Curves) + 1) / 2
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" width="%.0f" height="%.0f" font-family="sans-serif" font-size="12">`, 2*w+60, float64(rows)*(h+70)+30)
	fmt.Fprint(&out, `<rect width="100%" height="100%" fill="white"/>`)
	for i := range s.Model.Curves {
		k := &s.Model.Curves[i]
		if len(k.Points) == 0 {
			continue
		}
		p := panel{x: 50 + float64(i%2)*(w+20), y: 34 + float64(i/2)*(h+70), w: w - 50, h: h, fromX: k.Points[0].At, toX: k.Points[len(k.Points)-1].At, fromY: math.Inf(1), toY: math.Inf(-1)}
		for _, q := range k.Points {
			p.fromY, p.toY = math.Min(p.fromY, q.Low), math.Max(p.toY, q.High)
		}
		margin := 0.05 * (p.toY - p.fromY)
		p.fromY, p.toY = p.fromY-margin, p.toY+margin
		p.draw(&out, s, k, b)
	}
	out.WriteString("</svg>\n")
	return out.Bytes()
}

func (p *panel) draw(out *bytes.Buffer, s *desk.CompareSheet, k *desk.ModelCurve, b flight.Bottle) {
	title := k.ID
	if k.Speed != nil {
		title += fmt.Sprintf(" %.3g m/s", *k.Speed)
	}
	if k.Height != nil {
		title += fmt.Sprintf(" at %.3g m", *k.Height)
	}
	fmt.Fprintf(out, `<text x="%.1f" y="%.1f" font-weight="bold">%s, %s</text>`, p.x, p.y-10, title, k.Unit)
	fmt.Fprintf(out, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="none" stroke="#999"/>`, p.x, p.y, p.w, p.h)
	for n := range 5 {
		x, y := p.fromX+(p.toX-p.fromX)*float64(n)/4, p.fromY+(p.toY-p.fromY)*float64(n)/4
		fmt.Fprintf(out, `<text x="%.1f" y="%.1f" text-anchor="middle">%.0f mL</text>`, p.px(x), p.y+p.h+16, 1e6*x)
		fmt.Fprintf(out, `<text x="%.1f" y="%.1f" text-anchor="end">%.3g</text>`, p.x-4, p.py(y)+4, y)
	}
	var band, back, line, real bytes.Buffer
	for i, q := range k.Points {
		fmt.Fprintf(&band, "%.1f,%.1f ", p.px(q.At), p.py(q.High))
		r := k.Points[len(k.Points)-1-i]
		fmt.Fprintf(&back, "%.1f,%.1f ", p.px(r.At), p.py(r.Low))
		fmt.Fprintf(&line, "%.1f,%.1f ", p.px(q.At), p.py(q.Value))
		if v := truth(b, q.At, k); v > p.fromY && v < p.toY {
			fmt.Fprintf(&real, "%.1f,%.1f ", p.px(q.At), p.py(v))
		}
	}
	fmt.Fprintf(out, `<polygon points="%s%s" fill="#0a7e8c" opacity="0.25"/><polyline points="%s" fill="none" stroke="#0a7e8c" stroke-width="2"/>`, band.String(), back.String(), line.String())
	fmt.Fprintf(out, `<polyline points="%s" fill="none" stroke="#b3261e" stroke-width="1.5" stroke-dasharray="5 4"/>`, real.String())
	fmt.Fprintf(out, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="#555" opacity="0.2"/>`, p.px(k.Interval[0]), p.y, math.Max(1, p.px(k.Interval[1])-p.px(k.Interval[0])), p.h)
	for _, l := range s.Sweep {
		if l.ID != k.ID || k.Speed != nil && *l.Speed != *k.Speed || k.Height != nil && *l.Height != *k.Height {
			continue
		}
		for _, q := range l.Points {
			fmt.Fprintf(out, `<line x1="%.1f" x2="%.1f" y1="%.1f" y2="%.1f" stroke="black"/><circle cx="%.1f" cy="%.1f" r="3"/>`, p.px(q.At), p.px(q.At), p.py(q.Low), p.py(q.High), p.px(q.At), p.py(q.Value))
		}
	}
}
