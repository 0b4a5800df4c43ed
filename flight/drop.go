package flight

import (
	"math"

	"padside/fault"
)

// Drop is a ball let go at rest. In its Flight height is the distance fallen: positive
// downward, 0 where it was let go.
type Drop struct {
	Mass            float64 // kg
	Diameter        float64 // m
	DragCoefficient float64 // 0.47 for a sphere below the drag crisis (S. F. Hoerner, Fluid-Dynamic Drag, 1965)
	Height          float64 // m, of the fall; it comes to rest there
	Site            Site
}

// Fly computes the fall, let go at t = 0. Besides drag the air buoys the ball up and is
// dragged along: with k = displaced air/mass and the added mass of a sphere, half the
// displaced air (H. Lamb, Hydrodynamics, article 92),
//
//	a = (g (1 - k) - D/m) / (1 + k/2)
//
// For a tennis ball k is 0.3 %: a drop check that ignores it reads gravity 0.5 % low.
func (d Drop) Fly() (*Flight, error) {
	for _, q := range []struct {
		name     string
		value    float64
		min, max float64
		unit     string
	}{
		{"mass", d.Mass, 1e-5, 1e4, "kg"}, {"diameter", d.Diameter, 1e-4, 5, "m"},
		{"drag coefficient", d.DragCoefficient, 0, 3, ""}, {"height of fall", d.Height, 1e-3, 1e4, "m"},
	} {
		if !(q.value >= q.min && q.value <= q.max) {
			return nil, outside(q.name, q.value, q.min, q.max, q.unit)
		}
	}
	if err := d.Site.validate(); err != nil {
		return nil, err
	}
	k := d.Site.Air.Density() * math.Pi / 6 * d.Diameter * d.Diameter * d.Diameter / d.Mass
	if k >= 1 || d.Site.Gravity == 0 {
		return nil, fault.Requestf("check mass and diameter", "the ball does not fall: it displaces %.3g times its mass of air", k)
	}
	shape := body{d.Diameter, d.DragCoefficient}
	f := &Flight{}
	_, err := f.run(Fall, problem{
		field: func(_ float64, y vector) vector {
			// The air changes by less than 1e-4 over a fall that can be filmed: that of the site is used.
			return vector{y[1], (d.Site.Gravity*(1-k) - shape.drag(d.Site.Air, y[1])/d.Mass) / (1 + k/2)}
		},
		to: horizon, scale: flightScale,
		events: []func(float64, vector) float64{func(_ float64, y vector) float64 { return d.Height - y[0] }},
	}, nil, nil)
	return f, err
}
