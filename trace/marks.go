package trace

import (
	"math"
	"slices"

	"padside/camera"
	"padside/footage"
	"padside/register"
	"padside/stabilise"
)

// markReach is how far around a mark the follower looks for the patch, px: the mark shows the traced
// point, the patch's middle may lie a little beside it.
const markReach = 8

// reseed takes up the lane again at a mark set by hand. It reports whether there is one in this frame.
func (l *lane) reseed(frame int, t float64, pic *footage.Luma) bool {
	m, ok := l.marks[frame]
	if !ok {
		return false
	}
	hx, hy := float64(l.patch.W-1)/2, float64(l.patch.H-1)/2
	x, y := int(math.Round(m.X-hx)), int(math.Round(m.Y-hy))
	got := l.first.Seek(pic, register.Area{X: x, Y: y, W: 1, H: 1}.Grown(markReach), 1, nil)
	s := sighting{frame: frame, t: t, x: m.X, y: m.Y, quality: got.Quality}
	if got.Quality >= register.LeastMatch {
		s.x, s.y = got.X+hx, got.Y+hy
	}
	l.missing, l.done, l.left = 0, false, false
	l.add(s, pic)
	return true
}

// marked reports whether a mark lies in a later frame.
func (l *lane) marked(frame int) bool {
	for f := range l.marks {
		if f > frame {
			return true
		}
	}
	return false
}

// marksOf returns the marks of one lane by frame; of two in one frame the last wins.
func (o Options) marksOf(lane int) map[int]Mark {
	out := map[int]Mark{}
	for _, m := range o.Marks {
		if max(1, m.Lane) == lane {
			if m.U == 0 {
				m.U = defaultMarkU
			}
			out[m.Frame] = m
		}
	}
	return out
}

// point is a mark as a point of the trace, the camera's movement k taken out.
func (m Mark) point(line camera.FlightLine, k stabilise.Shift) Point {
	along, across := spread(line, m.U, k)
	return Point{
		Frame: m.Frame, X: m.X - k.DX, Y: m.Y - k.DY, Col: m.X, Row: m.Y, U: along, Across: across,
		Size: 1, USize: 1, Quality: 1, Source: SourceMarked,
	}
}

// spread is the uncertainty along and across the line of a place known to u, steadied by k.
func spread(line camera.FlightLine, u float64, k stabilise.Shift) (along, across float64) {
	ux, uy := line.Ux, line.Uy
	return math.Sqrt(u*u + ux*ux*k.UX*k.UX + uy*uy*k.UY*k.UY), math.Sqrt(u*u + uy*uy*k.UX*k.UX + ux*ux*k.UY*k.UY)
}

// mark lets the marks win over what was followed.
func (p *Path) mark(marks map[int]Mark, at func(frame int, x, y float64) stabilise.Shift) {
	if len(marks) == 0 {
		return
	}
	p.Points = slices.DeleteFunc(p.Points, func(q Point) bool { _, ok := marks[q.Frame]; return ok })
	p.Dropped = slices.DeleteFunc(p.Dropped, func(d Dropped) bool { _, ok := marks[d.Frame]; return ok })
	for f, m := range marks {
		p.Points = append(p.Points, m.point(p.Line, at(f, m.X, m.Y)))
	}
	slices.SortFunc(p.Points, func(a, b Point) int { return a.Frame - b.Frame })
}
