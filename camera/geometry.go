package camera

// Pixel is a point of the picture: x to the right, y down, the centre of the top left
// pixel is (0, 0), after rotation.
type Pixel struct{ X, Y float64 }

// FlightLine is the straight line in the picture along which the vehicle moves.
// A point of it is Rest + s*(Ux, Uy), s in pixels, positive in the direction of flight;
// (Ux, Uy) has length 1. Rest is the traced point's place before first motion.
type FlightLine struct {
	Rest   Pixel
	Ux, Uy float64
}

// Warp is one possible truth about the errors all frames share (scale marks, ranges, lean,
// lens): it maps the nominal height h (m, 0 at rest, positive in the direction of flight)
// to what it would be, y = h*(1 + E[0] + E[1]*h + E[2]*h*h). The zero Warp is the identity.
type Warp struct{ E [3]float64 }

// At returns y(h) and its first two derivatives, so that speed is dy*v and
// acceleration is dy*a + ddy*v*v.
func (w Warp) At(h float64) (y, dy, ddy float64) {
	e0, e1, e2 := w.E[0], w.E[1], w.E[2]
	y = h * (1 + e0 + h*(e1+h*e2))
	dy = 1 + e0 + h*(2*e1+h*3*e2)
	ddy = 2*e1 + 6*e2*h
	return y, dy, ddy
}
