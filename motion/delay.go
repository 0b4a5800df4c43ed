package motion

import (
	"math/rand/v2"

	"padside/camera"
)

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

// warped returns w with the delay in it, for motions that are held against heights and not sheared: what is
// seen at t is where the vehicle was at t less the delay, which is lower by the speed times the delay. With the
// speed a function of the height it is a warp of heights, taken at one, two and three thirds of top
// (m). A delay common to all heights is none.
func (d Delay) warped(w camera.Warp, speed func(h float64) float64, top float64) camera.Warp {
	if d.T1 == 0 && d.T2 == 0 {
		return w
	}
	var r [3]float64 // by how much a height becomes more, of itself
	for i := range r {
		h := top * float64(i+1) / 3
		r[i] = -speed(h) * (d.T1 + d.T2*h)
	}
	for k, e := range camera.WarpThrough(r, top).E {
		w.E[k] += e
	}
	return w
}

// Warped returns what all frames share with the delays as part of the warp: of a vehicle whose speed (m/s) is
// a function of its nominal height (m), up to top.
func (c Common) Warped(speed func(h float64) float64, top float64) Common {
	if c.Delay == nil {
		return c
	}
	out, plain := c, c.Warp
	out.Delay, out.DelaySources, out.WarpAt = nil, nil, nil
	out.Sources = append(c.Sources[:len(c.Sources):len(c.Sources)], c.DelaySources...)
	out.Warp = func(setup, launch *rand.Rand, hold string) camera.Warp {
		d := c.Delay(setup, hold)
		var w camera.Warp
		switch {
		case c.WarpAt != nil:
			w = c.WarpAt(d, setup, launch, hold)
		case plain != nil:
			w = plain(setup, launch, hold)
		}
		return d.warped(w, speed, top)
	}
	return out
}
