package scene

import "math"

// pose is how the camera stands against frame i's camera, by which everything is drawn, as one line
// of the picture is read: what that camera sees at a place q (px from the picture's middle) is seen
// at turn q + (dx, dy), turn being the matrix (c, s; -s, c).
type pose struct{ dx, dy, c, s float64 }

// movement is how a hand moves one frame's picture. A rolling shutter shows each line as the camera
// stood when that line was read. A nil movement is none.
type movement struct {
	camera *Camera
	cx, cy float64              // px, the picture's middle
	at     func(t float64) pose // t: s after the frame's stamp
	lines  []pose               // by line in the order of reading, where made ready; see ready
}

// movement is that of frame i.
func (s *Scene) movement(i int) *movement {
	cam, stamp, seed := &s.Camera, s.Stamps[i], s.again()
	cx, cy := cam.centre()
	roll, zoom := s.swayAt(stamp)
	m := &movement{camera: cam, cx: cx, cy: cy}
	m.at = func(t float64) pose {
		dx, dy := cam.shakeAt(stamp+t, seed^0x7368616b65)
		p := pose{dx: dx, dy: dy, c: 1}
		if cam.Sway != (Sway{}) && t != 0 {
			r, z := s.swayAt(stamp + t)
			sin, cos := math.Sincos(r - roll)
			size := math.Exp(z - zoom)
			p.c, p.s = size*cos, size*sin
		}
		return p
	}
	return m
}

// rolls says whether lines differ.
func (m *movement) rolls() bool {
	return m != nil && m.camera.RowTime != 0 && (m.camera.Shake != 0 || m.camera.Sway != Sway{})
}

// ready works out all lines at once, for who asks for every place of the picture.
func (m *movement) ready() {
	n := 1
	if m.rolls() {
		n = m.camera.Lines()
	}
	m.lines = make([]pose, n)
	for k := range m.lines {
		m.lines[k] = m.at(float64(k) * m.camera.RowTime)
	}
}

// pose is that of the line which shows (x, y); beyond the picture that of its edge.
func (m *movement) pose(x, y float64) pose {
	switch {
	case m == nil:
		return pose{c: 1}
	case !m.rolls() && m.lines != nil:
		return m.lines[0]
	case !m.rolls():
		return m.at(0)
	case m.lines == nil:
		return m.at(m.camera.Delay(x, y))
	}
	at := m.camera.Delay(x, y) / m.camera.RowTime
	k := min(int(at), len(m.lines)-2)
	a, b, f := m.lines[k], m.lines[k+1], at-float64(k)
	return pose{mixf(a.dx, b.dx, f), mixf(a.dy, b.dy, f), mixf(a.c, b.c, f), mixf(a.s, b.s, f)}
}

// source is what is seen at (x, y), as a place (px) that the frame's camera sees unmoved.
func (m *movement) source(x, y float64) (u, v float64) {
	p := m.pose(x, y)
	x, y = x-p.dx, y-p.dy
	if p.c == 1 && p.s == 0 {
		return x, y
	}
	x, y = x-m.cx, y-m.cy
	n := p.c*p.c + p.s*p.s
	return m.cx + (p.c*x-p.s*y)/n, m.cy + (p.c*y+p.s*x)/n
}

// seen is where the frame shows what its camera sees unmoved at (u, v). The line depends on the
// place and the place on the line: a contraction while the hand moves by less than a line in a
// line's time.
func (m *movement) seen(u, v float64) (x, y float64) {
	x, y = u, v
	for range 60 {
		p := m.pose(x, y)
		nx, ny := u, v
		if p.c != 1 || p.s != 0 {
			nx, ny = m.cx+p.c*(u-m.cx)+p.s*(v-m.cy), m.cy+p.c*(v-m.cy)-p.s*(u-m.cx)
		}
		nx, ny = nx+p.dx, ny+p.dy
		if !m.rolls() || math.Hypot(nx-x, ny-y) < 1e-9 {
			return nx, ny
		}
		x, y = nx, ny
	}
	return x, y
}
