package camera

import (
	"math"

	"padside/fault"
)

// length is the scale of an object of known length, seen at rest: the picture's geometry
// (tilt and lens) gives the shape of the scale, the object its size.
type length struct {
	value, u float64 // m
	ends     [2]Pixel
	markU    float64
	view     view
	line     FlightLine
	noise    noise
	apart    float64 // distance of its middle from the flight line, in its own lengths
}

func newLength(s Spec, v view, line FlightLine) (*length, []fault.Warning, error) {
	l := &length{value: s.Length.Value, markU: *s.MarkU, noise: newNoise(0, 0, evidence{}), view: v, line: line}
	l.u = relative(s.Length, assumedLengthU) * l.value
	var mid Pixel
	for i, e := range s.Ends {
		l.ends[i] = v.lens.Undistort(e)
		mid.X += l.ends[i].X / 2
		mid.Y += l.ends[i].Y / 2
	}
	off := (mid.Y-line.Rest.Y)*line.Ux - (mid.X-line.Rest.X)*line.Uy
	l.apart = math.Abs(off) / l.pixels()
	return l, nil, nil
}

func (l *length) pixels() float64 {
	return math.Hypot(l.ends[1].X-l.ends[0].X, l.ends[1].Y-l.ends[0].Y)
}

func (l *length) coordinates() int          { return 4 }
func (l *length) factor() *noise            { return &l.noise }
func (l *length) residuals() []MarkResidual { return nil }

// along implements reference: on the upright plane at unit distance the ends are D apart
// and the flight line has the map (a, c); the plane is really value/D away.
func (l *length) along(d *draws) projective {
	v := l.view.drawn(d)
	m := v.upright()
	ends := l.ends
	u := l.markU * d.spread
	for i := range ends {
		ends[i].X += u * d.marks[2*i]
		ends[i].Y += u * d.marks[2*i+1]
	}
	x0, y0 := m.point(ends[0])
	x1, y1 := m.point(ends[1])
	p := m.along(l.line)
	p.a *= (l.value + l.u*d.length) / math.Hypot(x1-x0, y1-y0)
	return p
}
