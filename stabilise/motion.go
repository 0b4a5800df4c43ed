package stabilise

import (
	"math"

	"padside/register"
)

// motion is the camera's movement in one frame. It turns about its own place, by angles small
// enough to add: what is at (x, y) from the picture's middle at rest is seen shifted by
//
//	dx = pan (1 + k x²) + tilt k x y + size x - roll y
//	dy = tilt (1 + k y²) + pan k x y + size y + roll x
//
// with pan and tilt in px at the middle and k = 1/f² for a focal length of f px (0: far away, all
// shifts alike). Source: first-order motion field of a rotating camera, Longuet-Higgins & Prazdny,
// Proc. R. Soc. B 208:385 (1980).
type motion struct {
	pan, tilt, size, roll, k float64
	mx, my                   float64 // the picture's middle, px
	u                        float64 // standard uncertainty of either coordinate, px
	n                        int     // readings it rests on
	ok                       bool
}

func (m motion) at(x, y float64) (dx, dy float64) {
	x, y = x-m.mx, y-m.my
	dx = m.pan*(1+m.k*x*x) + m.tilt*m.k*x*y + m.size*x - m.roll*y
	dy = m.tilt*(1+m.k*y*y) + m.pan*m.k*x*y + m.size*y + m.roll*x
	return dx, dy
}

// Shift is the camera's movement at one place in one frame, px: what is at (x, y) at rest is seen
// at (x+DX, y+DY), with standard uncertainties UX and UY.
type Shift struct{ DX, DY, UX, UY float64 }

// fit is least squares on the readings within limit px of the movement so far. Size and roll are
// drawn towards none, as known to 0.02 against readings good to 0.3 px, for a few patches close
// together do not tell them.
func (m motion) fit(r []reading, limit float64) motion {
	var a [register.MaxTerms * register.MaxTerms]float64
	var b [4]float64
	n := 0
	for _, p := range r {
		dx, dy := m.at(p.x, p.y)
		if math.Hypot(p.dx-dx, p.dy-dy) > limit {
			continue
		}
		n++
		x, y := p.x-m.mx, p.y-m.my
		rows := [2][4]float64{{1 + m.k*x*x, m.k * x * y, x, -y}, {m.k * x * y, 1 + m.k*y*y, y, x}}
		for k, v := range [2]float64{p.dx, p.dy} {
			for i := range 4 {
				for j := range 4 {
					a[i*register.MaxTerms+j] += rows[k][i] * rows[k][j]
				}
				b[i] += rows[k][i] * v
			}
		}
	}
	a[2*register.MaxTerms+2] += (0.3 / 0.02) * (0.3 / 0.02)
	a[3*register.MaxTerms+3] += (0.3 / 0.02) * (0.3 / 0.02)
	if n < 3 || !register.Invert(&a, 4) {
		return m
	}
	var c [4]float64
	for i := range 4 {
		for j := range 4 {
			c[i] += a[i*register.MaxTerms+j] * b[j]
		}
	}
	m.pan, m.tilt, m.size, m.roll = c[0], c[1], c[2], c[3]
	return m
}

// settle shifts the movement to the weighted mean of the readings near it, and states its
// uncertainty.
func (m motion) settle(r []reading, scatter float64) motion {
	var w, wx, wy, chi float64
	n := 0
	for _, p := range r {
		dx, dy := m.at(p.x, p.y)
		ex, ey := p.dx-dx, p.dy-dy
		limit := 3*math.Hypot(p.u, scatter) + 0.02
		if len(r) > 2 && (math.Abs(ex) > limit || math.Abs(ey) > limit) {
			continue
		}
		k := 1 / (p.u*p.u + scatter*scatter/4)
		n++
		w += k
		wx += k * ex
		wy += k * ey
		chi += k * (ex*ex + ey*ey)
	}
	if n == 0 {
		return motion{}
	}
	m.pan += wx / w
	m.tilt += wy / w
	m.u, m.n = math.Sqrt(1/w), n
	if n > 1 {
		chi = (chi - (wx*wx+wy*wy)/w) / float64(2*(n-1))
		m.u *= math.Sqrt(max(1, chi))
	}
	return m
}

// around is how many frames to either side tell how much the camera moves at a time.
const around = 10

// At is the camera's movement at a place in a frame. What the patches show is noise in part: of the
// movement's variance about its neighbourhood only what exceeds that noise is taken out, so that a
// camera on a firm tripod adds none (the mean of the posterior when movement and noise are normal,
// James & Stein 1961).
func (s *Background) At(frame int, x, y float64) Shift {
	m, ok := s.moves[frame]
	if !ok || !m.ok {
		return Shift{}
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
	return Shift{dx * sx, dy * sy, m.u * math.Sqrt(sx), m.u * math.Sqrt(sy)}
}

// shrink is the share of the movement to believe: none where its mean square is not beyond what
// noise does in n frames.
func shrink(square, noise, n float64) float64 {
	excess := square - noise*(1+2*math.Sqrt(2/n))
	if excess <= 0 {
		return 0
	}
	return excess / (excess + noise)
}

// reading is one anchor's measurement in a frame: what is at (x, y) at rest is seen shifted by (dx,
// dy), px, either known to u.
type reading struct{ x, y, dx, dy, u float64 }
