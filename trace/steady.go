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
	basis         *basis
	scratch       *scratch
	anchors       []*anchor
	avoid         []area
	given         bool // patches given by the user: not renewed
	far           bool // patches that are lost are looked for farther away: between stills a hand moves by more than matching bridges
	moves         map[int]move
	start         *move
	latest        move
	misfit        [len(focals)]float64 // of each focal length, over the frames so far
	width, height int
}

// newSteady chooses patches in the picture at rest, or takes the given ones. patches are where the vehicles are;
// what lies above and below them is where they and their smoke will be.
func newSteady(b *basis, l *footage.Luma, boxes []Box, patches []area) *steady {
	s := &steady{basis: b, scratch: newScratch(b), moves: map[int]move{}, width: l.Width, height: l.Height}
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

// step measures the camera's movement in the next frame, forward or backward.
func (s *steady) step(frame int, l *footage.Luma) {
	if len(s.anchors) == 0 {
		return
	}
	r := s.readings(l)
	if s.far && 2*len(r) < len(s.anchors) && s.seekFar(l) {
		r = s.readings(l)
	}
	m := s.combine(r)
	s.moves[frame] = m
	if m.ok {
		s.latest = m
	}
	if s.start == nil {
		s.start = &m
	}
	s.renew(l)
}

// readings are the shifts of the anchors that are found.
func (s *steady) readings(l *footage.Luma) (r []reading) {
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
	return r
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

// focals are the focal lengths tried, in units of the picture's longer side; 0 stands for far away. A phone's main lens has
// about 0.8 (28 mm equivalent, common practice, no source).
var focals = [...]float64{0, 2, 1.2, 0.95, 0.8, 0.65}

// oneShift is the scatter, px, up to which the patches are taken to move as one: then what differs from them moves by itself, and
// would be taken for a turn.
const oneShift = 0.1

// combine finds the movement most anchors agree on.
func (s *steady) combine(r []reading) move {
	if len(r) == 0 {
		return move{}
	}
	var xs, ys []float64
	for _, p := range r {
		xs, ys = append(xs, p.dx), append(ys, p.dy)
	}
	px, sx := fit.MAD(xs)
	py, sy := fit.MAD(ys)
	m := move{pan: px, tilt: py, mx: float64(s.width-1) / 2, my: float64(s.height-1) / 2, ok: true}
	scatter := math.Max(sx, sy)
	if len(r) >= 5 && math.Hypot(px, py) > 1 && scatter > oneShift {
		m, scatter = s.turned(r, m, scatter)
	}
	return m.settle(r, scatter)
}

// turned fits pan, tilt, size and roll, with the focal length that has suited best so far.
func (s *steady) turned(r []reading, m move, scatter float64) (move, float64) {
	var tried [len(focals)]move
	best := 0
	for i, f := range focals {
		t := m
		if f > 0 {
			f *= float64(max(s.width, s.height))
			t.k = 1 / (f * f)
		}
		limit := 3*scatter + 3
		for range 4 {
			t = t.fit(r, limit)
			limit = max(limit/2, 0.6)
		}
		tried[i] = t
		s.misfit[i] *= 0.99
		for _, p := range r {
			dx, dy := t.at(p.x, p.y)
			s.misfit[i] += min(math.Hypot(p.dx-dx, p.dy-dy), 3)
		}
		if s.misfit[i] < s.misfit[best] {
			best = i
		}
	}
	m = tried[best]
	var e []float64
	for _, p := range r {
		dx, dy := m.at(p.x, p.y)
		e = append(e, math.Hypot(p.dx-dx, p.dy-dy))
	}
	return m, fit.Median(e)
}

// coarse is the movement of what is at (x, y) at rest, as measured, noise included.
func (s *steady) coarse(frame int, x, y float64) (dx, dy float64) {
	m := s.moves[frame]
	return m.at(x, y)
}

// Shake is how far the camera's movement shows what was at (x, y) at rest elsewhere in a frame, px: it is seen at (x+dx, y+dy). It
// is zero where the movement was not measured, and good to about a pixel: for pictures, not for heights.
func (r *Result) Shake(frame int, x, y float64) (dx, dy float64) {
	if r.steady == nil {
		return 0, 0
	}
	return r.steady.coarse(frame, x, y)
}
