package trace

import (
	"math"

	"padside/footage"
	"padside/register"
)

// find looks around the predicted top left corner (x, y), wider and wider until the best place is
// good and not at the border of the search.
func (l *lane) find(pic *footage.Luma, x, y float64) register.Found {
	rx := 2 + int(2*l.surprise[0]) + 2*l.missing
	ry := 2 + int(2*l.surprise[1]) + 2*l.missing
	if l.look != nil { // few pixels, which look like others: only where it is predicted
		return l.seek(pic, register.Area{X: int(math.Round(x)), Y: int(math.Round(y)), W: 1, H: 1}.Grown(lookReach+l.missing), 1, l.nearness(x, y))
	}
	var best register.Found
	best.Quality = -1
	tries := 4
	switch {
	case l.steadily():
		tries = 2
	case l.light:
		tries = 3
	}
	for try := range tries {
		places := register.Area{X: int(math.Round(x)) - rx, Y: int(math.Round(y)) - ry, W: 2*rx + 1, H: 2*ry + 1}
		got := l.seek(pic, places, 1+try/2, l.nearness(x, y))
		// What lies farther from the prediction must be clearly better.
		if got.Quality > best.Quality+farther*float64(min(try, 1)) || best.Edge && got.Quality > best.Quality {
			best = got
		}
		if got.Quality >= 0.8*l.usual && !got.Edge {
			return best
		}
		rx, ry = 2*rx+1, 3*ry+1
	}
	if best.Quality >= 0.8*l.usual && !best.Edge {
		return best
	}
	if l.light && !l.leaps {
		return best
	}
	if l.steadily() {
		return best // what went as predicted does not leap
	}
	step := 2
	if l.light {
		step = 3
	}
	if got := l.seek(pic, l.band(pic, x, y), step, nil); got.Quality > best.Quality+farther {
		best = got
	}
	return best
}

// steadily reports whether the last predictions were right to about a pixel, and the vehicle not lost since.
func (l *lane) steadily() bool {
	return l.moved && len(l.sights) >= 5 && l.missing < 3 && l.surprise[0] < 2.5 && l.surprise[1] < 2.5
}

// farther is by how much a match far from the prediction must beat one near it.
const farther = 0.1

// band is everywhere the vehicle may have got to from (x, y): ahead of it, within some 20 degrees.
func (l *lane) band(pic *footage.Luma, x, y float64) register.Area {
	reach := float64(max(pic.Width, pic.Height))
	ex, ey := x+l.ahead[0]*reach, y+l.ahead[1]*reach
	side := 0.2*float64(min(pic.Width, pic.Height)) + float64(l.patch.W)
	x0, x1 := min(x, ex)-side*math.Abs(l.ahead[1])-8, max(x, ex)+side*math.Abs(l.ahead[1])+8
	y0, y1 := min(y, ey)-side*math.Abs(l.ahead[0])-8, max(y, ey)+side*math.Abs(l.ahead[0])+8
	return register.Area{X: int(x0), Y: int(y0), W: int(x1-x0) + 1, H: int(y1-y0) + 1}
}

// seek tries the first reference and, where that is no longer alike, the fresh one.
func (l *lane) seek(pic *footage.Luma, a register.Area, step int, near func(x, y int) float32) register.Found {
	occupied, behind := l.occupied(pic), l.behind()
	unit := register.Grey(pic)
	worth := func(x, y int, c register.Alike) float32 {
		if l.light {
			if occupied != nil && occupied(x, y, c.Q) {
				return -1
			}
			return c.Q
		}
		if behind != nil && behind(x, y) {
			return -1
		}
		if l.moved && (c.Gain < l.gain*leastGain || c.Gain > l.gain/leastGain) || occupied != nil && occupied(x, y, c.Q) {
			return -1
		}
		q := c.Q
		if near != nil {
			q -= near(x, y)
		}
		if l.contrast > 0 {
			q -= levelCost * min(1, abs32(c.Level*unit-l.level)/l.contrast)
			if l.backward {
				q -= absentCost * l.absent(pic, x, y)
			}
		}
		return q
	}
	got := l.first.Seek(pic, a, step, worth)
	got.X, got.Y = got.X+l.base[0], got.Y+l.base[1]
	if l.fresh != nil && got.Quality < 0.85 {
		if f := l.fresh.Seek(pic, a, step, worth); f.Quality > got.Quality+0.05 {
			f.Quality = min(f.Quality, 0.99)
			f.X, f.Y = f.X+l.offset[0], f.Y+l.offset[1]
			return f
		}
	}
	return got
}

// levelCost is what a place loses whose brightness is off that of the vehicle of late by as much as the background's is. It
// stands for what the correlation, which knows no levels, does not see.
const levelCost = 0.6

// absentCost is what a place loses where nothing differs from the picture without the vehicle.
const absentCost = 0.6

// absent is the share of the pixels compared, the reference's top left at (x, y), that look as the picture does without the vehicle.
func (l *lane) absent(pic *footage.Luma, x, y int) float32 {
	g, s := l.ground, l.first
	dx, dy := l.camera(l.frame, l.rest[0], l.rest[1])
	bx, by := x-int(math.Round(dx)), y-int(math.Round(dy))
	if bx < 0 || by < 0 || bx > g.w-s.W || by > g.h-s.H {
		return 0
	}
	limit := max(float32(6*g.noise), 0.12*l.contrast)
	same := 0
	for i := 0; i < len(s.At); i += 2 {
		px, py := int(s.At[i]), int(s.At[i+1])
		if abs32(register.Level(pic, x+px, y+py)-g.at(bx+px, by+py)) < limit {
			same++
		}
	}
	return 2 * float32(same) / float32(len(s.At))
}

func abs32(x float32) float32 { return max(x, -x) }

// behind returns a test of whether a place lies farther back than a vehicle can be that flew ahead when it was last seen, in an earlier frame: less than a
// quarter of its last step a frame ahead of there. Smoke that stays keeps a vehicle's looks for a while. It is nil where nothing was missed, and for what
// falls: it may be thrown back.
func (l *lane) behind() func(x, y int) bool {
	n := len(l.sights)
	if l.missing == 0 || !l.moved || l.backward || l.light || l.down || n < 3 {
		return nil
	}
	a, b := &l.sights[n-2], &l.sights[n-1]
	step := ((b.x-a.x)*l.ahead[0] + (b.y-a.y)*l.ahead[1]) / float64(b.frame-a.frame)
	if step < leastStep {
		return nil
	}
	hx, hy := float64(l.patch.W-1)/2, float64(l.patch.H-1)/2
	least := backShare * step * float64(l.frame-b.frame)
	return func(x, y int) bool {
		return (float64(x)+hx-b.x)*l.ahead[0]+(float64(y)+hy-b.y)*l.ahead[1] < least
	}
}

const (
	leastStep = 5    // px a frame: slower, and camera and search err by as much
	backShare = 0.25 // of its last step, a frame
)

// leastGain is the share of its contrast of late that the vehicle may lose, or gain, from one frame to the next.
const leastGain = 0.25

// nearness returns what a place loses for lying off the prediction (x, y): predictions are right to about a pixel and
// what they were off by of late.
func (l *lane) nearness(x, y float64) func(px, py int) float32 {
	if !l.steadily() && !(l.backward && l.moved && len(l.sights) >= 3) {
		return nil
	}
	sx, sy := 1+l.surprise[0]+float64(l.missing), 1+l.surprise[1]+float64(l.missing)
	return func(px, py int) float32 {
		dx, dy := (float64(px)-x)/sx, (float64(py)-y)/sy
		return float32(min(farther, 0.02*(dx*dx+dy*dy)))
	}
}

// occupied returns a test of whether what correlates at a place was there at rest already: a match
// with quality q counts only where it is better than with the picture at rest. It is nil where that
// is not known, or the reference has no contrast.
func (l *lane) occupied(pic *footage.Luma) func(x, y int, q float32) bool {
	if l.ground == nil || l.ground.n < 1 || len(l.sights) == 0 || l.first.Blind() {
		return nil
	}
	dx, dy := l.camera(l.frame, l.rest[0], l.rest[1])
	sx, sy := int(math.Round(dx)), int(math.Round(dy))
	rx, ry := l.rest[0]+dx-float64(l.patch.W-1)/2, l.rest[1]+dy-float64(l.patch.H-1)/2
	near := max(3, 0.5*float64(min(l.patch.W, l.patch.H)))
	return func(x, y int, q float32) bool {
		if q < register.LeastMatch || math.Hypot(float64(x)-rx, float64(y)-ry) < near {
			return false
		}
		bx, by := x-sx, y-sy
		if bx < 0 || by < 0 || bx > l.ground.w-l.patch.W || by > l.ground.h-l.patch.H {
			return false
		}
		return q <= l.first.Like(l.ground.sum[by*l.ground.w+bx:])+better
	}
}

// better is by how much a match must beat the one with the background.
const better = 0.05
