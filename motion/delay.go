package motion

// Delay is by how much later than its observation says a place of the flight line was seen, as a
// quadratic in the nominal height: T0 + T1 h + T2 h^2 (s; h in m, 0 near rest). A rolling shutter
// exposes the places of the flight line one after another, so that the true time of what is seen at
// h is t + Delay.At(h). A motion h(t) by the clock of the observations is then, exactly, the curve
// (t + Delay(h), h): its speed is v/(1 + D'v), its acceleration (a - D”v^3)/(1 + D'v)^3.
type Delay struct{ T0, T1, T2 float64 }

// At returns the delay and its first two derivatives at height h.
func (d Delay) At(h float64) (t, dt, ddt float64) {
	return d.T0 + h*(d.T1+h*d.T2), d.T1 + 2*h*d.T2, 2 * d.T2
}

// leastPace keeps a vehicle from being faster than the rows that are read along its way: no camera
// that sees it rightly reads so slowly.
const leastPace = 0.2

// sheared returns height, speed, acceleration by the true clock, given them by the observations'.
func (d Delay) sheared(h, v, a float64) vec {
	_, dt, ddt := d.At(h)
	p := max(1+dt*v, leastPace)
	return vec{h: h, v: v / p, a: (a - ddt*v*v*v) / (p * p * p)}
}
