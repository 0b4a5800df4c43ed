package camera

import "math"

// levelPieces is into how many straight pieces a level line is divided where the lens bends it.
const levelPieces = 16

// Level returns the level line through the flight line at `along` px from rest, as far as `half` px
// to either side of it there: it stands at right angles to the camera's heading, at the distance of
// the flight line. Places are px as filmed, left to right as they are seen with the flight going
// up. A rod shows how the camera is rolled, a plane where its own axes lie; with a length the
// picture's rows are taken to be level, or its columns where the flight goes along the rows.
//
// A pinhole camera that is tilted and not rolled shows such a line as a row of the picture: points
// at one height X (right) and Z (ahead) alike in all but X have one y = f H'/Z' each (Hartley &
// Zisserman, Multiple View Geometry, 2nd ed., 2004, 8.1, from memory).
func (s *Scale) Level(along, half float64) []Pixel {
	at := s.view.lens.Undistort(Pixel{s.given.Rest.X + along*s.given.Ux, s.given.Rest.Y + along*s.given.Uy})
	dx, dy := s.ref.level(at)
	if dx*s.line.Uy-dy*s.line.Ux > 0 { // to the left of the flight
		dx, dy = -dx, -dy
	}
	pieces := 1
	if !s.view.lens.none() {
		pieces = levelPieces
	}
	out := make([]Pixel, pieces+1)
	for i := range out {
		k := half * (2*float64(i)/float64(pieces) - 1)
		out[i] = s.view.lens.Apply(Pixel{at.X + k*dx, at.Y + k*dy})
	}
	return out
}

// level implements reference: at right angles to uprights.
func (r *rod) level(Pixel) (dx, dy float64) { return -r.upright[1], r.upright[0] }

// level implements reference: as the camera's rows lie.
func (l *length) level(Pixel) (dx, dy float64) {
	if math.Abs(l.line.Ux) > math.Abs(l.line.Uy) {
		return 0, 1
	}
	return 1, 0
}

// level implements reference: the one of the plane's two axes that lies across the flight, seen at
// p.
func (p *plane) level(at Pixel) (dx, dy float64) {
	metres, ok := p.metres(p.theta)
	if !ok {
		return -p.line.Uy, p.line.Ux
	}
	picture, ok := metres.inverted()
	if !ok {
		return -p.line.Uy, p.line.Ux
	}
	x, y := metres.point(at)
	across, least := [2]float64{}, math.Inf(1)
	for _, axis := range [2][2]float64{{1, 0}, {0, 1}} {
		ux, uy := picture.slope(x, y, axis)
		if along := math.Abs(ux*p.line.Ux + uy*p.line.Uy); along < least {
			across, least = [2]float64{ux, uy}, along
		}
	}
	return across[0], across[1]
}

// slope is the direction in which the map leads from (x, y) on along axis, of length 1: the
// derivative of (a, b)/w is (a'w - a w', b'w - b w')/w2.
func (m *matrix3) slope(x, y float64, axis [2]float64) (dx, dy float64) {
	a, b, w := m.times(x, y, 1)
	da, db, dw := m.times(axis[0], axis[1], 0)
	dx, dy = da*w-a*dw, db*w-b*dw
	n := math.Hypot(dx, dy)
	return dx / n, dy / n
}
