package camera

import (
	"math"

	"padside/fault"
)

// transfer carries heights from the rod's line to the flight line. Points of equal height lie
// on a line at right angles to upright, which is the rod's direction with the convergence of
// uprights taken out: seen from a tilted camera, an upright x to the right of the optical
// axis and y above it leans by atan(-x g/(1 - g y)), g = tan(tilt)/f.
func (r *rod) transfer(v view, line FlightLine) error {
	g := r.tangent(v)
	leaning := func(p Pixel) float64 { return math.Atan(-v.right(p) * g / math.Max(nearest, 1-g*v.up(p))) }
	direction := func(x, y float64) float64 { return math.Atan2(x, -y) } // clockwise from up
	rod := direction(r.axis.Ux, r.axis.Uy)
	if r.axis.Uy > 0 { // marked downward: the rod rises the other way
		rod += math.Pi
	}
	roll := rod - leaning(r.axis.Rest)
	if r.lies() { // the tilt does not bend its uprights
		roll = rod
		leaning = func(Pixel) float64 { return 0 }
	}
	ux, uy := math.Sin(roll), -math.Cos(roll)
	if r.axis.Uy > 0 {
		ux, uy = -ux, -uy
	}
	r.upright = [2]float64{ux, uy}
	scale := r.axis.Ux*ux + r.axis.Uy*uy
	dx, dy := line.Rest.X-r.axis.Rest.X, line.Rest.Y-r.axis.Rest.Y
	r.p = (dx*ux + dy*uy) / scale / r.ts
	r.kappa = (line.Ux*ux + line.Uy*uy) / scale
	at := direction(line.Ux, line.Uy) - leaning(line.Rest) - direction(ux, uy)
	r.cos = math.Cos(at)
	if math.Abs(r.cos) < 0.5 || r.kappa*r.cos <= 0 {
		return fault.Requestf(`look whether the vehicle is what is followed, a box holding something else leads astray; else use a rod that stands along the flight, or kind = "length" with the distance between two marks`,
			"the rod lies across the flight line, at %.0f degrees to it", math.Acos(math.Abs(r.cos))*180/math.Pi)
	}
	return nil
}

// tangent is tan(tilt)/f: from the tilt where it is known, from the marks where they show it.
func (r *rod) tangent(v view) float64 {
	c, u := r.perspective()
	if v.tiltGiven || r.lies() {
		return math.Tan(v.tilt) / v.focal
	}
	if math.Abs(c) > 2*u {
		c /= r.ts
		return c / (r.axis.Uy + c*v.up(r.axis.Rest))
	}
	return 0
}

// extent is how far along the flight line the marks reach, metres from rest.
func (r *rod) extent(marks []sighting, line FlightLine) {
	p := r.along(r.rest())
	s := func(m sighting) float64 { return (m.along/r.ts - r.p) * r.ts / r.kappa }
	a, b := p.at(s(marks[0])), p.at(s(marks[len(marks)-1]))
	r.low, r.high = min(a, b), max(a, b)
}
