package trace

import (
	"math"

	"padside/footage"
)

// Streak is the whole flight as one picture: a column per traced frame, the flight line up it. Each
// pixel is the one of the flight band, across the line, that differs most from the picture at rest or, where none
// does, the band's mean. The camera's movement is taken out.
type Streak struct {
	Frames []int   // one per column, in order of time
	Rows   int     // row 0 is the lowest on the flight line: height goes up the picture
	S0     float64 // px along the flight line from the traced point's place at rest to the centre of row 0
	Step   float64 // px along the flight line from one row to the next
	Pix    []uint8 // column by column, Rows each, from row 0 up; levels of an 8-bit picture
}

const (
	streakRows    = 640
	streakColumns = 6000 // 4 MB; a longer trace has no more columns
)

// columns collects a lane's streak while it is followed. Rows are counted along a line through the
// patch at rest, in the direction the vehicle is seen to go; both are known well enough by then to the width of the band.
type columns struct {
	step   float64
	lo     float64 // px along the line at row 0, from the patch's centre at rest
	rows   int
	byTime map[int][]uint8
}

func newColumns(pic *footage.Luma, x, y, ux, uy float64) *columns {
	c := &columns{byTime: map[int][]uint8{}}
	lo, hi := 0.0, 0.0
	inside := func(s float64) bool {
		px, py := x+s*ux, y+s*uy
		return px >= 0 && py >= 0 && px <= float64(pic.Width-1) && py <= float64(pic.Height-1)
	}
	for inside(lo - 1) {
		lo--
	}
	for inside(hi + 1) {
		hi++
	}
	c.lo, c.step = lo, max(1, (hi-lo)/(streakRows-1))
	c.rows = int((hi-lo)/c.step) + 1
	return c
}

// take adds the column of a frame. The line starts at (x, y) at rest, seen shifted by (dx, dy).
func (c *columns) take(frame int, pic *footage.Luma, rest *still, l *lane, dx, dy float64) {
	if len(c.byTime) >= streakColumns {
		return
	}
	ux, uy := l.going()
	half := max(4, l.patch.w/2)
	if math.Abs(ux) > math.Abs(uy) {
		half = max(4, l.patch.h/2)
	}
	stride := max(1, half/10)
	limit := float32(5 * rest.noise)
	out := make([]uint8, c.rows)
	for r := range out {
		s := c.lo + float64(r)*c.step
		bx, by := l.rest[0]+s*ux, l.rest[1]+s*uy
		var sum, n, most, best float32
		for k := -half; k <= half; k += stride {
			rx, ry := int(math.Round(bx-float64(k)*uy)), int(math.Round(by+float64(k)*ux))
			px, py := int(math.Round(bx-float64(k)*uy+dx)), int(math.Round(by+float64(k)*ux+dy))
			if rx < 0 || ry < 0 || rx >= rest.w || ry >= rest.h || px < 0 || py < 0 || px >= pic.Width || py >= pic.Height {
				continue
			}
			v := level(pic, px, py)
			sum += v
			n++
			if d := float32(math.Abs(float64(v - rest.at(rx, ry)))); d > most {
				most, best = d, v
			}
		}
		switch {
		case n == 0:
		case most > limit:
			out[r] = uint8(min(best, 255))
		default:
			out[r] = uint8(min(sum/n, 255))
		}
	}
	c.byTime[frame] = out
}

// going is the direction the lane is seen to go, or expected to.
func (l *lane) going() (ux, uy float64) {
	if n := len(l.sights); n > 1 {
		a, b := &l.sights[0], &l.sights[n-1]
		if d := math.Hypot(b.x-a.x, b.y-a.y); d > 20 {
			return (b.x - a.x) / d, (b.y - a.y) / d
		}
	}
	return l.ahead[0], l.ahead[1]
}

// streak puts the columns of the traced frames together. centre is the traced point's place along the line from the patch's centre.
func (c *columns) streak(p []Point, centre float64) *Streak {
	if c == nil {
		return nil
	}
	s := &Streak{Rows: c.rows, S0: c.lo - centre, Step: c.step}
	for i := range p {
		if col := c.byTime[p[i].Frame]; col != nil {
			s.Frames = append(s.Frames, p[i].Frame)
			s.Pix = append(s.Pix, col...)
		}
	}
	return s
}
