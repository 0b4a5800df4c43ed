package trace

import (
	"math"

	"padside/fit"
	"padside/footage"
)

// steady measures how the camera moved, by still patches of background.
//
// The movement of each frame is a shift and, where there are enough patches and the camera
// is evidently held by hand, a turn and a change of size about the middle of the patches. Patches
// that move by themselves (leaves, clouds, people, smoke) are left out as they disagree with the rest.
type steady struct {
	basis   *basis
	scratch *scratch
	anchors []*anchor
	avoid   []area
	given   bool // patches given by the user: not renewed
	moves   map[int]move
	start   *move
	latest  move
}

// move is the camera's movement in one frame: what is at (x, y) at rest is seen at
// (x, y) + (dx, dy) + (a, -b; b, a) (x-cx, y-cy).
type move struct {
	dx, dy, a, b, cx, cy float64
	u                    float64 // standard uncertainty of dx and of dy, px
	ok                   bool
}

func (m move) at(x, y float64) (dx, dy float64) {
	x, y = x-m.cx, y-m.cy
	return m.dx + m.a*x - m.b*y, m.dy + m.b*x + m.a*y
}

// shake is the camera's movement at one place in one frame, with its standard uncertainties.
type shake struct{ dx, dy, ux, uy float64 }

// newSteady chooses patches in the picture at rest, or takes the given ones. patches are where the vehicles are;
// what lies above and below them is where they and their smoke will be.
func newSteady(b *basis, l *footage.Luma, boxes []Box, patches []area) *steady {
	s := &steady{basis: b, scratch: newScratch(b), moves: map[int]move{}}
	for _, p := range patches {
		by := max(p.w, 24)
		s.avoid = append(s.avoid, area{p.x - by, 0, p.w + 2*by, l.Height})
	}
	if len(boxes) == 0 {
		s.anchors = chooseAnchors(b, l, s.avoid, mostAnchors)
		return s
	}
	s.given = true
	for _, box := range boxes {
		a := box.area(l.Width, l.Height).clip(area{3, 3, l.Width - 6, l.Height - 6})
		s.anchors = append(s.anchors, s.inside(l, a, (mostAnchors+len(boxes)-1)/len(boxes))...)
	}
	return s
}

// inside cuts a given box into up to n anchors: the box itself where it is small.
func (s *steady) inside(l *footage.Luma, a area, n int) []*anchor {
	if a.w*a.h <= 2*anchorSide*anchorSide || n == 1 {
		a = area{a.x + max(0, a.w-64)/2, a.y + max(0, a.h-64)/2, min(a.w, 64), min(a.h, 64)}
		if k := newAnchor(s.basis, l, a); k != nil {
			return []*anchor{k}
		}
		return nil
	}
	var outside []area
	for _, o := range []area{{0, 0, a.x, l.Height}, {a.x + a.w, 0, l.Width, l.Height}, {0, 0, l.Width, a.y}, {0, a.y + a.h, l.Width, l.Height}} {
		if o.w > 0 && o.h > 0 {
			outside = append(outside, o)
		}
	}
	return chooseAnchors(s.basis, l, outside, n)
}

// reading is one anchor's measurement in a frame.
type reading struct {
	x, y, dx, dy, u float64
	anchor          *anchor
}

// step measures the camera's movement in the next frame, forward or backward.
func (s *steady) step(frame int, l *footage.Luma) {
	if len(s.anchors) == 0 {
		return
	}
	var r []reading
	for _, a := range s.anchors {
		// Where the others say it should be, for an anchor that was not seen of late.
		if a.bad > 0 {
			cx, cy := a.home.centre()
			dx, dy := s.latest.at(cx, cy)
			a.last = [2]float64{dx - a.offX, dy - a.offY}
		}
		got, ok := a.measure(s.scratch, l)
		if !ok {
			a.bad++
			continue
		}
		a.bad = 0
		a.last = [2]float64{got.X, got.Y}
		cx, cy := a.home.centre()
		u := math.Sqrt(max(got.white[0][0], got.white[1][1], got.cov[0][0]/2, got.cov[1][1]/2))
		r = append(r, reading{cx, cy, got.X + a.offX, got.Y + a.offY, math.Hypot(u, 0.005), a})
	}
	m := combine(r)
	s.moves[frame] = m
	if m.ok {
		s.latest = m
	}
	if s.start == nil {
		s.start = &m
	}
	s.renew(l)
}

// forward goes back to where stepping began, to step the other way.
func (s *steady) forward() {
	if s.start != nil {
		s.latest = *s.start
	}
	for _, a := range s.anchors {
		cx, cy := a.home.centre()
		dx, dy := s.latest.at(cx, cy)
		a.last, a.bad = [2]float64{dx - a.offX, dy - a.offY}, 0
	}
}

// renew takes up new anchors where the old ones have gone out of view.
func (s *steady) renew(l *footage.Luma) {
	if s.given {
		return
	}
	keep := s.anchors[:0]
	for _, a := range s.anchors {
		if a.bad < 5 {
			keep = append(keep, a)
		}
	}
	s.anchors = keep
	if len(keep) >= mostAnchors/2 || !s.latest.ok {
		return
	}
	avoid := append([]area(nil), s.avoid...)
	for i := range avoid {
		dx, _ := s.latest.at(avoid[i].centre())
		avoid[i].x += int(dx)
	}
	for _, a := range keep {
		v := a.from
		v.x += int(a.last[0])
		v.y += int(a.last[1])
		avoid = append(avoid, v.grown(anchorSide))
	}
	for _, a := range chooseAnchors(s.basis, l, avoid, mostAnchors-len(keep)) {
		// The place at rest that is seen here now.
		cx, cy := a.from.centre()
		hx, hy := cx, cy
		for range 20 {
			dx, dy := s.latest.at(hx, hy)
			hx, hy = cx-dx, cy-dy
		}
		a.home.x += int(math.Round(hx - cx))
		a.home.y += int(math.Round(hy - cy))
		px, py := a.home.centre()
		a.offX, a.offY = s.latest.at(px, py)
		s.anchors = append(s.anchors, a)
	}
}

// combine finds the movement most anchors agree on.
func combine(r []reading) move {
	if len(r) == 0 {
		return move{}
	}
	var xs, ys []float64
	for _, p := range r {
		xs, ys = append(xs, p.dx), append(ys, p.dy)
	}
	mx, sx := fit.MAD(xs)
	my, sy := fit.MAD(ys)
	limit := func(p reading, by float64) float64 { return 3*math.Hypot(p.u, by) + 0.02 }
	m := move{dx: mx, dy: my, ok: true}
	turning := len(r) >= 5 && math.Hypot(mx, my) > 1
	if turning {
		m = similar(r, m, math.Hypot(max(sx, sy), 0.5)*3)
		m = similar(r, m, 0.5)
	}
	var w, wx, wy, chi float64
	n := 0
	for _, p := range r {
		px, py := m.at(p.x, p.y)
		ex, ey := p.dx-px, p.dy-py
		if len(r) > 2 && (math.Abs(ex) > limit(p, sx) || math.Abs(ey) > limit(p, sy)) {
			continue
		}
		k := 1 / (p.u * p.u)
		n++
		w += k
		wx += k * ex
		wy += k * ey
		chi += k * (ex*ex + ey*ey)
	}
	if n == 0 {
		return move{}
	}
	m.dx += wx / w
	m.dy += wy / w
	m.u = math.Sqrt(1 / w)
	if n > 1 {
		chi = (chi - (wx*wx+wy*wy)/w) / float64(2*(n-1))
		m.u *= math.Sqrt(max(1, chi))
	}
	return m
}

// similar fits shift, turn and size to the readings that lie within limit px of the movement m.
func similar(r []reading, m move, limit float64) move {
	var n, sx, sy float64
	var in []reading
	for _, p := range r {
		dx, dy := m.at(p.x, p.y)
		if math.Hypot(p.dx-dx, p.dy-dy) < limit {
			in = append(in, p)
			n++
			sx += p.x
			sy += p.y
		}
	}
	if n < 4 {
		return m
	}
	out := move{cx: sx / n, cy: sy / n, ok: true}
	var sxx, sa, sb float64
	for _, p := range in {
		x, y := p.x-out.cx, p.y-out.cy
		out.dx += p.dx / n
		out.dy += p.dy / n
		sxx += x*x + y*y
		sa += x*p.dx + y*p.dy
		sb += x*p.dy - y*p.dx
	}
	if sxx < n*60*60 { // too close together to tell a turn
		return m
	}
	out.a, out.b = sa/sxx, sb/sxx
	return out
}

// coarse is the movement of the picture's middle of the anchors in a frame.
func (s *steady) coarse(frame int) (dx, dy float64) {
	m := s.moves[frame]
	return m.dx, m.dy
}

// around is how many frames to either side tell how much the camera moves at a time.
const around = 10

// at is the camera's movement at a place in a frame. What the patches show is noise in part: of the movement's
// variance about its neighbourhood only what exceeds that noise is taken out, so that a camera on a firm tripod adds none
// (the mean of the posterior when movement and noise are normal, James & Stein 1961).
func (s *steady) at(frame int, x, y float64) shake {
	m, ok := s.moves[frame]
	if !ok || !m.ok {
		return shake{}
	}
	dx, dy := m.at(x, y)
	var n, xx, yy, uu float64
	for f := frame - around; f <= frame+around; f++ {
		k, ok := s.moves[f]
		if !ok || !k.ok {
			continue
		}
		n++
		ex, ey := k.at(x, y)
		xx += ex * ex
		yy += ey * ey
		uu += k.u * k.u
	}
	noise := uu / n
	sx, sy := shrink(xx/n, noise, n), shrink(yy/n, noise, n)
	return shake{dx * sx, dy * sy, m.u * math.Sqrt(sx), m.u * math.Sqrt(sy)}
}

// shrink is the share of the movement to believe: none where its mean square is not beyond what noise does in n frames.
func shrink(square, noise, n float64) float64 {
	excess := square - noise*(1+2*math.Sqrt(2/n))
	if excess <= 0 {
		return 0
	}
	return excess / (excess + noise)
}
