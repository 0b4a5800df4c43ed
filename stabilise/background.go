package stabilise

import (
	"math"

	"padside/fit"
	"padside/footage"
	"padside/register"
)

// Background measures how the camera moves, by still patches of background, from frame to frame.
// Places are px of the picture as filmed.
//
// The movement of each frame is a shift and, where there are enough patches and the camera is
// evidently held by hand, a turn and a change of size about the middle of the patches. Patches that
// move by themselves (leaves, clouds, people, smoke) are left out as they disagree with the rest.
type Background struct {
	basis         *register.Basis
	scratch       *register.Scratch
	anchors       []*anchor
	avoid         []register.Area
	given         bool // patches given by the user: not renewed
	far           bool // see SeekFar
	moves         map[int]motion
	start         *motion
	latest        motion
	misfit        [len(focals)]float64 // of each focal length, over the frames so far
	width, height int
}

// NewBackground chooses patches in the picture at rest l, away from the areas to avoid, where
// vehicles and their smoke are or will be; or it takes patches from the given areas.
func NewBackground(b *register.Basis, l *footage.Luma, avoid, given []register.Area) *Background {
	s := &Background{basis: b, scratch: register.NewScratch(b), avoid: avoid,
		moves: map[int]motion{}, width: l.Width, height: l.Height}
	if len(given) == 0 {
		s.anchors = chooseAnchors(b, l, s.avoid, mostAnchors)
		return s
	}
	s.given = true
	for _, a := range given {
		a = a.Clip(register.Area{X: 3, Y: 3, W: l.Width - 6, H: l.Height - 6})
		s.anchors = append(s.anchors, s.inside(l, a, (mostAnchors+len(given)-1)/len(given))...)
	}
	return s
}

// inside cuts a given box into up to n anchors: the box itself where it is small.
func (s *Background) inside(l *footage.Luma, a register.Area, n int) []*anchor {
	if a.W*a.H <= 2*anchorSide*anchorSide || n == 1 {
		a = register.Area{X: a.X + max(0, a.W-64)/2, Y: a.Y + max(0, a.H-64)/2,
			W: min(a.W, 64), H: min(a.H, 64)}
		if k := newAnchor(s.basis, l, a); k != nil {
			return []*anchor{k}
		}
		return nil
	}
	var outside []register.Area
	for _, o := range []register.Area{
		{W: a.X, H: l.Height}, {X: a.X + a.W, W: l.Width, H: l.Height},
		{W: l.Width, H: a.Y}, {Y: a.Y + a.H, W: l.Width, H: l.Height},
	} {
		if o.W > 0 && o.H > 0 {
			outside = append(outside, o)
		}
	}
	return chooseAnchors(s.basis, l, outside, n)
}

// Step measures the camera's movement in the next frame, forward or backward.
func (s *Background) Step(frame int, l *footage.Luma) {
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
func (s *Background) readings(l *footage.Luma) (r []reading) {
	for _, a := range s.anchors {
		// Where the others say it should be, for an anchor that was not seen of late.
		if a.bad > 0 {
			cx, cy := a.home.Centre()
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
		cx, cy := a.home.Centre()
		u := math.Sqrt(max(got.White[0][0], got.White[1][1], got.Cov[0][0]/2, got.Cov[1][1]/2))
		r = append(r, reading{cx, cy, got.X + a.offX, got.Y + a.offY, math.Hypot(u, 0.005)})
	}
	return r
}

// Rewind goes back to where stepping began, to step the other way.
func (s *Background) Rewind() {
	if s.start != nil {
		s.latest = *s.start
	}
	for _, a := range s.anchors {
		cx, cy := a.home.Centre()
		dx, dy := s.latest.at(cx, cy)
		a.last, a.bad = [2]float64{dx - a.offX, dy - a.offY}, 0
	}
}

// renew takes up new anchors where the old ones have gone out of view.
func (s *Background) renew(l *footage.Luma) {
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
	avoid := append([]register.Area(nil), s.avoid...)
	for i := range avoid {
		dx, _ := s.latest.at(avoid[i].Centre())
		avoid[i].X += int(dx)
	}
	for _, a := range keep {
		v := a.from
		v.X += int(a.last[0])
		v.Y += int(a.last[1])
		avoid = append(avoid, v.Grown(anchorSide))
	}
	for _, a := range chooseAnchors(s.basis, l, avoid, mostAnchors-len(keep)) {
		// The place at rest that is seen here now.
		cx, cy := a.from.Centre()
		hx, hy := cx, cy
		for range 20 {
			dx, dy := s.latest.at(hx, hy)
			hx, hy = cx-dx, cy-dy
		}
		a.home.X += int(math.Round(hx - cx))
		a.home.Y += int(math.Round(hy - cy))
		px, py := a.home.Centre()
		a.offX, a.offY = s.latest.at(px, py)
		s.anchors = append(s.anchors, a)
	}
}

// focals are the focal lengths tried, in units of the picture's longer side; 0 stands for far away.
// A phone's main lens has about 0.8 (28 mm equivalent, common practice, no source).
var focals = [...]float64{0, 2, 1.2, 0.95, 0.8, 0.65}

// oneShift is the scatter, px, up to which the patches are taken to move as one: then what differs
// from them moves by itself, and would be taken for a turn.
const oneShift = 0.1

// combine finds the movement most anchors agree on.
func (s *Background) combine(r []reading) motion {
	if len(r) == 0 {
		return motion{}
	}
	var xs, ys []float64
	for _, p := range r {
		xs, ys = append(xs, p.dx), append(ys, p.dy)
	}
	px, sx := fit.MAD(xs)
	py, sy := fit.MAD(ys)
	m := motion{pan: px, tilt: py, mx: float64(s.width-1) / 2, my: float64(s.height-1) / 2, ok: true}
	scatter := math.Max(sx, sy)
	if len(r) >= 5 && math.Hypot(px, py) > 1 && scatter > oneShift {
		m, scatter = s.turned(r, m, scatter)
	}
	return m.settle(r, scatter)
}

// turned fits pan, tilt, size and roll, with the focal length that has suited best so far.
func (s *Background) turned(r []reading, m motion, scatter float64) (motion, float64) {
	var tried [len(focals)]motion
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

// Raw is by how much, px, what is at (x, y) at rest is seen elsewhere in a frame, as measured,
// noise included; zero where the movement was not measured.
func (s *Background) Raw(frame int, x, y float64) (dx, dy float64) {
	m := s.moves[frame]
	return m.at(x, y)
}

// Knows says whether the movement of a frame was measured.
func (s *Background) Knows(frame int) bool { return s.moves[frame].ok }
