package stabilise

import "math"

// Registered reports whether the background of a frame tells how the camera had moved.
func (s *Background) Registered(frame int) bool {
	m, ok := s.moves[frame]
	return ok && m.ok && (s.given || m.n >= fewestAnchors)
}

// Between is the camera's movement at a place in a frame that tells nothing: between the frames on
// either side that do, as uncertain as they differ; that of the nearest where there is one side
// alone, as uncertain as that has moved; none where no frame tells.
func (s *Background) Between(frame int, x, y float64) Shift {
	before, after := math.MinInt, math.MaxInt
	for f := range s.moves {
		switch {
		case !s.Registered(f):
		case f < frame:
			before = max(before, f)
		default:
			after = min(after, f)
		}
	}
	var a, b Shift
	switch {
	case before == math.MinInt && after == math.MaxInt:
		return Shift{}
	case before == math.MinInt:
		b = s.At(after, x, y)
		return Shift{b.DX, b.DY, math.Abs(b.DX), math.Abs(b.DY)}
	case after == math.MaxInt:
		a = s.At(before, x, y)
		return Shift{a.DX, a.DY, math.Abs(a.DX), math.Abs(a.DY)}
	}
	a, b = s.At(before, x, y), s.At(after, x, y)
	part := float64(frame-before) / float64(after-before)
	x, y = b.DX-a.DX, b.DY-a.DY
	return Shift{a.DX + part*x, a.DY + part*y, math.Abs(x) / 2, math.Abs(y) / 2}
}

// fewestAnchors is how many patches must agree for the background to be registered; patches that
// were given are trusted one by one.
const fewestAnchors = 3
