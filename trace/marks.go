package trace

import (
	"math"
	"slices"

	"padside/camera"
	"padside/fault"
	"padside/footage"
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
	hx, hy := float64(l.patch.w-1)/2, float64(l.patch.h-1)/2
	x, y := int(math.Round(m.X-hx)), int(math.Round(m.Y-hy))
	got := l.first.seek(pic, area{x, y, 1, 1}.grown(markReach), 1, nil)
	s := sighting{frame: frame, t: t, x: m.X, y: m.Y, quality: got.quality}
	if got.quality >= leastMatch {
		s.x, s.y = got.x+hx, got.y+hy
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
func (m Mark) point(line camera.FlightLine, k shake) Point {
	along, across := spread(line, m.U, k)
	return Point{
		Frame: m.Frame, X: m.X - k.dx, Y: m.Y - k.dy, Col: m.X, Row: m.Y, U: along, Across: across,
		Size: 1, USize: 1, Quality: 1, Source: SourceMarked,
	}
}

// spread is the uncertainty along and across the line of a place known to u, steadied by k.
func spread(line camera.FlightLine, u float64, k shake) (along, across float64) {
	ux, uy := line.Ux, line.Uy
	return math.Sqrt(u*u + ux*ux*k.ux*k.ux + uy*uy*k.uy*k.uy), math.Sqrt(u*u + uy*uy*k.ux*k.ux + ux*ux*k.uy*k.uy)
}

// mark lets the marks win over what was followed.
func (p *Path) mark(marks map[int]Mark, at func(frame int, x, y float64) shake) {
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

// marksOnly makes the paths of the marks alone. The camera's movement stays in: nothing is read.
func (f *follower) marksOnly() (*Result, error) {
	res := &Result{Onset: f.o.From}
	for lane := 1; lane <= f.o.Lanes; lane++ {
		marks := f.o.marksOf(lane)
		if len(marks) < 2 {
			return nil, fault.Requestf("mark the vehicle in at least two frames of each lane, or let it be followed",
				"lane %d has %d mark(s), and nothing is to be followed", lane, len(marks))
		}
		p := Path{Lane: lane}
		for _, m := range marks {
			p.Points = append(p.Points, m.point(p.Line, shake{}))
		}
		slices.SortFunc(p.Points, func(a, b Point) int { return a.Frame - b.Frame })
		var ok bool
		if p.Line, ok = lineThrough(p.Points); !ok {
			return nil, fault.NoAnswerf("mark the same point of the vehicle in frames in which it moves",
				"the marks of lane %d all lie at one place", lane)
		}
		res.Paths = append(res.Paths, p)
	}
	return res, nil
}

// lineThrough is the flight line of points, from the first towards the farthest one, by total least squares
// through the first.
func lineThrough(p []Point) (camera.FlightLine, bool) {
	l := camera.FlightLine{Rest: camera.Pixel{X: p[0].X, Y: p[0].Y}}
	var sxx, sxy, syy, far, fx, fy float64
	for _, q := range p {
		dx, dy := q.X-l.Rest.X, q.Y-l.Rest.Y
		sxx += dx * dx
		sxy += dx * dy
		syy += dy * dy
		if d := math.Hypot(dx, dy); d > far {
			far, fx, fy = d, dx, dy
		}
	}
	a := 0.5 * math.Atan2(2*sxy, sxx-syy)
	l.Ux, l.Uy = math.Cos(a), math.Sin(a)
	if l.Ux*fx+l.Uy*fy < 0 {
		l.Ux, l.Uy = -l.Ux, -l.Uy
	}
	return l, far > 0
}
