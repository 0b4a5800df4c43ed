package picture

import (
	"context"
	"math"

	"padside/footage"
	"padside/trace"
)

// Band is a strip of picture along the flight line, frame by frame: what a streak shows.
type Band struct {
	Frames []int
	Rows   int     // one pixel apart along the flight line, row 0 lowest
	First  float64 // px along the flight line at row 0
	Pix    []uint8 // column after column, Rows each
}

// Gray returns the brightness of a column's row.
func (b *Band) Gray(col, row int) uint8 { return b.Pix[col*b.Rows+row] }

// halfWidth is how far the band reaches to either side of the flight line, as a share of
// the vehicle's length where that is known.
const (
	halfWidth     = 0.06
	leastHalf     = 4  // px
	mostHalf      = 24 // px
	restFrames    = 8  // frames at rest that are averaged for the background
	differs       = 12 // grey levels from the background that count as something new
	belowRest     = 1.3
	unknownLength = 120 // px, below rest, where the vehicle's length is not known
)

// ReadBand reads the frames of a path once more and takes the band along its flight line: in
// each row the pixel that differs most from the resting background, else the band's mean.
// It stops where the picture ends.
func ReadBand(ctx context.Context, src trace.Source, p trace.Path) (*Band, error) {
	w, h := src.Size()
	first, last := p.Points[0].Frame, p.Points[len(p.Points)-1].Frame
	b := &Band{}
	half := int(math.Min(mostHalf, math.Max(leastHalf, halfWidth*p.Length)))
	b.span(p, w, h)
	width := 2*half + 1
	rest := make([]float64, b.Rows*width)
	n := 0
	row := make([]float64, width)
	err := src.Read(ctx, first, last+1, func(f footage.Frame) error {
		defer f.Release()
		if n < restFrames {
			n++
		}
		col := make([]uint8, b.Rows)
		for r := range b.Rows {
			s := b.First + float64(r)
			most, mean := 0.0, 0.0
			pick := 0.0
			for c := range width {
				off := float64(c - half)
				x := int(math.Round(p.Line.Rest.X + s*p.Line.Ux - off*p.Line.Uy))
				y := int(math.Round(p.Line.Rest.Y + s*p.Line.Uy + off*p.Line.Ux))
				row[c] = level8(f.Luma, min(max(x, 0), w-1), min(max(y, 0), h-1))
				k := r*width + c
				if len(b.Frames) < restFrames {
					rest[k] += (row[c] - rest[k]) / float64(n)
				}
				mean += row[c] / float64(width)
				if d := math.Abs(row[c] - rest[k]); d > most {
					most, pick = d, row[c]
				}
			}
			if most < differs {
				pick = mean
			}
			col[r] = uint8(math.Min(255, math.Max(0, pick+0.5)))
		}
		b.Frames = append(b.Frames, f.Index)
		b.Pix = append(b.Pix, col...)
		return nil
	})
	return b, err
}

// span sets the rows: from somewhat below the resting vehicle to the edge of the picture.
func (b *Band) span(p trace.Path, w, h int) {
	inside := func(s float64) bool {
		x, y := p.Line.Rest.X+s*p.Line.Ux, p.Line.Rest.Y+s*p.Line.Uy
		return x >= 0 && y >= 0 && x <= float64(w-1) && y <= float64(h-1)
	}
	low := -belowRest * p.Length
	if p.Length == 0 {
		low = -unknownLength
	}
	for low < -1 && !inside(low) {
		low++
	}
	high := 1.0
	for inside(high + 1) {
		high++
	}
	b.First, b.Rows = low, int(high-low)+1
}

// level8 returns a pixel in levels of an 8-bit picture.
func level8(l *footage.Luma, x, y int) float64 {
	k := y*l.Width + x
	if l.Pix16 != nil {
		return float64(l.Pix16[k]) * 255 / float64(int(1)<<l.Depth-1)
	}
	return float64(l.Pix8[k])
}
