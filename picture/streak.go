package picture

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"math"
	"sort"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
)

// Place is one point of a trace: s and m.
type Place struct{ T, H float64 }

// Streak is the whole flight as one picture: time along it, the flight line up it.
type Streak struct {
	Title  string
	Times  []float64                 // s, increasing, when each column's frame was taken
	Rows   int                       // rows of the band, row 0 lowest
	Height func(row float64) float64 // m at the centre of a row; increasing
	Gray   func(col, row int) uint8  // brightness of the band
	Trace  []Place                   // drawn as the pen's line
	Gates  []float64                 // m
	// Instants are intervals of time to mark, such as first motion.
	Instants []Instant
}

// Instant is an interval [Lo, Hi] of time (s) with a name.
type Instant struct {
	Name   string
	Lo, Hi float64
}

const dpi = 144

// PNG draws the streak at width x height pixels.
// It fails when the streak has fewer than two columns or rows, or where its heights or times do not rise.
func (s *Streak) PNG(width, height int) ([]byte, error) {
	if len(s.Times) < 2 || s.Rows < 2 {
		return nil, fmt.Errorf("draw streak: %d columns and %d rows, at least 2 of each are needed", len(s.Times), s.Rows)
	}
	n := len(s.Times)
	t0 := s.Times[0] - (s.Times[1]-s.Times[0])/2
	t1 := s.Times[n-1] + (s.Times[n-1]-s.Times[n-2])/2
	h0, h1 := s.Height(-0.5), s.Height(float64(s.Rows)-0.5)
	if !(t1 > t0 && h1 > h0) || math.IsInf(t1-t0, 0) || math.IsInf(h1-h0, 0) {
		return nil, fmt.Errorf("draw streak: from %g to %g s and %g to %g m", t0, t1, h0, h1)
	}
	p := plot.New()
	p.BackgroundColor = paper
	p.Title.Text = s.Title
	p.Title.TextStyle.Color = ink
	p.Title.TextStyle.Font.Size = vg.Points(11)
	p.Title.Padding = vg.Points(6)
	p.X.Label.Text = "time, ms"
	p.Y.Label.Text = "height, m"
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Color, a.Label.TextStyle.Color, a.Tick.Color, a.Tick.Label.Color = ink, ink, ink, ink
		a.Label.TextStyle.Font.Size = vg.Points(9)
		a.Tick.Label.Font.Size = vg.Points(8)
		a.Padding = vg.Points(3)
	}
	p.Add(plotter.NewImage(s.band(t0, t1, h0, h1, width, height), 1e3*t0, h0, 1e3*t1, h1))
	for _, g := range s.Gates {
		if g > h0 && g < h1 {
			p.Add(level(1e3*t0, 1e3*t1, g))
		}
	}
	for _, in := range s.Instants {
		p.Add(&instant{Instant: in, lo: h0, hi: h1})
	}
	if err := s.addTrace(p); err != nil {
		return nil, err
	}
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = 1e3*t0, 1e3*t1, h0, h1
	p.X.Tick.Marker, p.Y.Tick.Marker = marker(width/90), marker(height/90)
	return render(p, width, height)
}

// marker puts at most so many ticks on an axis.
func marker(most int) plot.TickerFunc {
	return func(lo, hi float64) (out []plot.Tick) {
		for _, t := range ticks(lo, hi, most) {
			out = append(out, plot.Tick{Value: t.at, Label: t.label})
		}
		return out
	}
}

func (s *Streak) addTrace(p *plot.Plot) error {
	if len(s.Trace) == 0 {
		return nil
	}
	xy := make(plotter.XYs, len(s.Trace))
	for i, q := range s.Trace {
		xy[i].X, xy[i].Y = 1e3*q.T, q.H
	}
	line, err := plotter.NewLine(xy)
	if err != nil {
		return fmt.Errorf("draw trace: %w", err)
	}
	line.Color = pen
	line.Width = vg.Points(1)
	p.Add(line)
	return nil
}

// band resamples the columns to even time and the rows to even height.
func (s *Streak) band(t0, t1, h0, h1 float64, width, height int) *image.Gray {
	img := image.NewGray(image.Rect(0, 0, width, height))
	rows := make([]int, height)
	for y := range height {
		h := h1 - (float64(y)+0.5)/float64(height)*(h1-h0)
		row := sort.Search(s.Rows, func(r int) bool { return s.Height(float64(r)+0.5) >= h })
		rows[y] = min(row, s.Rows-1)
	}
	col := 0
	for x := range width {
		t := t0 + (float64(x)+0.5)/float64(width)*(t1-t0)
		for col+1 < len(s.Times) && math.Abs(s.Times[col+1]-t) <= math.Abs(s.Times[col]-t) {
			col++
		}
		for y := range height {
			img.SetGray(x, y, color.Gray{Y: s.Gray(col, rows[y])})
		}
	}
	return img
}

func level(t0, t1, h float64) *plotter.Line {
	return &plotter.Line{
		XYs:       plotter.XYs{{X: t0, Y: h}, {X: t1, Y: h}},
		LineStyle: draw.LineStyle{Color: gate, Width: vg.Points(0.6), Dashes: []vg.Length{vg.Points(5), vg.Points(3)}},
	}
}

// instant draws an interval of time as a translucent strip with its name at the top.
type instant struct {
	Instant
	lo, hi float64
}

// Plot implements plot.Plotter.
func (in *instant) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	lo, hi := tx(1e3*in.Lo), tx(1e3*in.Hi)
	if hi-lo < vg.Points(1) {
		mid := (lo + hi) / 2
		lo, hi = mid-vg.Points(0.5), mid+vg.Points(0.5)
	}
	bottom, top := ty(in.lo), ty(in.hi)
	strip := color.NRGBA{gate.R, gate.G, gate.B, 0x99}
	c.FillPolygon(strip, c.ClipPolygonXY([]vg.Point{{X: lo, Y: bottom}, {X: hi, Y: bottom}, {X: hi, Y: top}, {X: lo, Y: top}}))
	style := p.X.Tick.Label
	style.Color = gate
	style.XAlign, style.YAlign = draw.XRight, draw.YTop
	at := vg.Point{X: lo - vg.Points(4), Y: top - vg.Points(4)}
	box := style.Rectangle(in.Name)
	c.FillPolygon(color.NRGBA{paper.R, paper.G, paper.B, 0xdd}, []vg.Point{
		{X: at.X + box.Min.X - 2, Y: at.Y + box.Min.Y - 2}, {X: at.X + box.Max.X + 2, Y: at.Y + box.Min.Y - 2},
		{X: at.X + box.Max.X + 2, Y: at.Y + box.Max.Y + 2}, {X: at.X + box.Min.X - 2, Y: at.Y + box.Max.Y + 2}})
	c.FillText(style, at, in.Name)
}

func render(p *plot.Plot, width, height int) ([]byte, error) {
	size := func(px int) vg.Length { return vg.Length(px) * vg.Inch / dpi }
	c := vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(size(width), size(height)), vgimg.UseDPI(dpi))}
	p.Draw(draw.New(c))
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		return nil, fmt.Errorf("encode picture: %w", err)
	}
	return b.Bytes(), nil
}
