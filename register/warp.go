package register

import "math"

// Warp maps a place (u, v) of the reference patch, px from its centre, into a picture:
// x = X + A u - B v, y = Y + B u + A v; A = size cos(turn), B = size sin(turn).
type Warp struct{ X, Y, A, B float64 }

// after returns the warp that first undoes the small step d found on the reference, then
// applies w: the inverse-compositional update.
func (w Warp) after(d Warp) Warp {
	// d: u' = dX + A u - B v. Its inverse has linear part (A, -B)/(A²+B²).
	n := d.A*d.A + d.B*d.B
	ia, ib := d.A/n, -d.B/n
	ix, iy := -(ia*d.X - ib*d.Y), -(ib*d.X + ia*d.Y)
	return Warp{
		X: w.X + w.A*ix - w.B*iy, Y: w.Y + w.B*ix + w.A*iy,
		A: w.A*ia - w.B*ib, B: w.B*ia + w.A*ib,
	}
}

// Size is how much larger than the reference the picture shows it.
func (w Warp) Size() float64 { return math.Hypot(w.A, w.B) }
