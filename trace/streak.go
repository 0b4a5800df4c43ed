package trace

import (
	"math"

	"padside/camera"
	"padside/footage"
	"padside/register"
)

// Streak is the whole flight as one picture: a column per traced frame, the flight line up it. Each
// pixel is the one of the flight band, across the line, that differs most from the picture at rest
// or, where none does, the band's mean. The camera's movement is taken out; what a frame did not
// show is of StreakUnseen.
type Streak struct {
	Frames []int   // one per column, in order of time
	Rows   int     // row 0 is the lowest on the flight line: height goes up the picture
	S0     float64 // px along the flight line from the traced point's place at rest to the centre of row 0
	Step   float64 // px along the flight line from one row to the next
	Pix    []uint8 // column by column, Rows each, from row 0 up; levels of an 8-bit picture
}

// StreakUnseen is the level of what lies outside a frame: a light grey, which shows that the
// picture ends there.
const StreakUnseen = 0xe6

const (
	streakRows    = 640  // over the height of the picture
	streakMost    = 1600 // with what a camera that follows the vehicle shows besides
	streakColumns = 6000 // 4 MB; a longer trace has no more columns
)

// Crop returns the rows from lo up to hi, hi left out, of the same streak; nil where that is fewer
// than two.
func (s *Streak) Crop(lo, hi int) *Streak {
	lo, hi = max(0, lo), min(s.Rows, hi)
	if hi-lo < 2 {
		return nil
	}
	if hi-lo == s.Rows {
		return s
	}
	out := &Streak{Frames: s.Frames, Rows: hi - lo, S0: s.S0 + float64(lo)*s.Step, Step: s.Step}
	for k := range s.Frames {
		out.Pix = append(out.Pix, s.Pix[k*s.Rows+lo:k*s.Rows+hi]...)
	}
	return out
}

// columns collects a lane's streak while it is followed. The flight line is known only when all is
// followed, the more so where a lane was found by looking backward from the middle of the flight:
// each column keeps by which line it was taken, and they are put together afterwards.
type columns struct {
	step   float64 // px between rows
	byTime map[int]column
}

// column is the band of one frame. Row k lies at origin + (lo + k) step along; places are those of
// the picture at rest, the camera's movement taken out.
type column struct {
	origin, along [2]float64
	lo            int
	pix           []uint8
}

func newColumns(pic *footage.Luma) *columns {
	return &columns{byTime: map[int]column{}, step: max(1, float64(max(pic.Width, pic.Height)-1)/(streakRows-1))}
}

// take adds the column of a frame in which the lane is seen at (x, y), by a camera that has moved
// by (dx, dy): along the line through there, so that the vehicle is in the band wherever it has got
// to.
func (c *columns) take(s *sighting, pic *footage.Luma, l *lane, dx, dy float64) {
	if len(c.byTime) >= streakColumns {
		return
	}
	ux, uy := l.going()
	o := column{origin: [2]float64{s.x - dx, s.y - dy}, along: [2]float64{ux, uy}}
	inside := func(row int) bool {
		d := float64(row) * c.step
		x, y := s.x+d*ux, s.y+d*uy
		return x >= 0 && y >= 0 && x <= float64(pic.Width-1) && y <= float64(pic.Height-1)
	}
	hi := 0
	for inside(o.lo - 1) {
		o.lo--
	}
	for inside(hi + 1) {
		hi++
	}
	half := max(4, l.patch.W/2)
	if math.Abs(ux) > math.Abs(uy) {
		half = max(4, l.patch.H/2)
	}
	b := band{pic: pic, rest: l.still, dx: dx, dy: dy, half: half, limit: float32(5 * l.still.noise)}
	for row := o.lo; row <= hi; row++ {
		d := float64(row) * c.step
		o.pix = append(o.pix, b.level(o.origin[0]+d*ux, o.origin[1]+d*uy, ux, uy))
	}
	c.byTime[s.frame] = o
}

// band is a stretch across the flight line in one frame.
type band struct {
	pic    *footage.Luma
	rest   *still
	dx, dy float64 // px, the camera's movement
	half   int     // px to either side
	limit  float32 // levels by which noise may differ
}

// level is what the band about (x, y) of the picture at rest shows. Where the picture at rest does
// not reach, nothing tells the vehicle from what lies behind it: there the middle is shown, on
// which the vehicle flies.
func (b *band) level(x, y, ux, uy float64) uint8 {
	var sum, n, most, best float32
	for k := -b.half; k <= b.half; k += max(1, b.half/10) {
		atX, atY := x-float64(k)*uy, y+float64(k)*ux
		rx, ry := int(math.Round(atX)), int(math.Round(atY))
		px, py := int(math.Round(atX+b.dx)), int(math.Round(atY+b.dy))
		if px < 0 || py < 0 || px >= b.pic.Width || py >= b.pic.Height {
			continue
		}
		v := register.Level(b.pic, px, py)
		sum, n = sum+v, n+1
		if rx < 0 || ry < 0 || rx >= b.rest.w || ry >= b.rest.h {
			continue
		}
		if d := float32(math.Abs(float64(v - b.rest.at(rx, ry)))); d > most {
			most, best = d, v
		}
	}
	px, py := int(math.Round(x+b.dx)), int(math.Round(y+b.dy))
	rx, ry := int(math.Round(x)), int(math.Round(y))
	switch {
	case n == 0:
		return StreakUnseen
	case most > b.limit:
		return uint8(min(best, 255))
	case (rx < 0 || ry < 0 || rx >= b.rest.w || ry >= b.rest.h) && px >= 0 && py >= 0 && px < b.pic.Width && py < b.pic.Height:
		return uint8(min(register.Level(b.pic, px, py), 255))
	}
	return uint8(min(sum/n, 255))
}

// goingFrom is how far a lane must have gone, px, for its way to be told from its places.
const goingFrom = 20

// going is the direction of the lane's way as far as it is seen, in either sense, the camera's
// movement taken out; else the one expected.
func (l *lane) going() (ux, uy float64) {
	if n := len(l.sights); n > 1 {
		a, b := l.placed(&l.sights[0]), l.placed(&l.sights[n-1])
		if d := math.Hypot(b[0]-a[0], b[1]-a[1]); d > goingFrom {
			return (b[0] - a[0]) / d, (b[1] - a[1]) / d
		}
	}
	return l.ahead[0], l.ahead[1]
}

// placed is where a sighting lies in the picture at rest, the camera's movement taken out.
func (l *lane) placed(s *sighting) [2]float64 {
	if l.camera == nil {
		return [2]float64{s.x, s.y}
	}
	dx, dy := l.camera(s.frame, s.x, s.y)
	return [2]float64{s.x - dx, s.y - dy}
}

// leastAlong is the least cosine between a column's line and the flight's: what was taken across it
// shows nothing of the flight.
const leastAlong = 0.7

// ends are the first and the last place of a column along the flight line; ok is false where it
// lies across it.
func (o *column) ends(line camera.FlightLine, step float64) (from, to float64, ok bool) {
	cos := o.along[0]*line.Ux + o.along[1]*line.Uy
	at := (o.origin[0]-line.Rest.X)*line.Ux + (o.origin[1]-line.Rest.Y)*line.Uy
	from, to = at+float64(o.lo)*step*cos, at+float64(o.lo+len(o.pix)-1)*step*cos
	return from, to, math.Abs(cos) >= leastAlong
}

// streak puts the columns of the traced frames together, up the flight line.
func (c *columns) streak(p []Point, line camera.FlightLine) *Streak {
	if c == nil {
		return nil
	}
	s := &Streak{Step: c.step}
	lo, hi, far := math.Inf(1), math.Inf(-1), 0.0
	for i := range p {
		o, ok := c.byTime[p[i].Frame]
		from, to, along := o.ends(line, c.step)
		if !ok || !along {
			continue
		}
		s.Frames = append(s.Frames, p[i].Frame)
		lo, hi = min(lo, from, to), max(hi, from, to)
		far = max(far, (p[i].X-line.Rest.X)*line.Ux+(p[i].Y-line.Rest.Y)*line.Uy)
	}
	if len(s.Frames) == 0 {
		return nil
	}
	hi = min(hi, max(far, lo)+float64(streakRows)*c.step)
	lo = max(lo, hi-float64(streakMost-1)*c.step)
	s.S0, s.Rows = lo, int((hi-lo)/c.step)+1
	for _, frame := range s.Frames {
		o := c.byTime[frame]
		from, to, _ := o.ends(line, c.step)
		s.Pix = append(s.Pix, o.laid(s, from, to)...)
	}
	return s
}

// laid is a column, whose first and last place lie at from and to along the flight line, in the
// rows of the streak.
func (o *column) laid(s *Streak, from, to float64) []uint8 {
	out := make([]uint8, s.Rows)
	for r := range out {
		out[r] = StreakUnseen
		k := 0
		if len(o.pix) > 1 {
			k = int(math.Round((s.S0 + float64(r)*s.Step - from) / (to - from) * float64(len(o.pix)-1)))
		}
		if k >= 0 && k < len(o.pix) {
			out[r] = o.pix[k]
		}
	}
	return out
}
