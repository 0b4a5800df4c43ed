package scene

import (
	"math"

	"padside/flight"
)

// Motion is how a vehicle moves; t in s. A *flight.Flight is one.
type Motion interface {
	At(t float64) flight.State
}

// Shape says what a vehicle looks like.
type Shape int

const (
	// Rocket has an ogive nose, a banded tube and fins.
	Rocket Shape = iota
	// Bottle is a drink bottle, neck down, with an ogive nose and fins.
	Bottle
	// Ball is a ball with a seam.
	Ball
)

// Livery is what a vehicle is painted with.
type Livery struct{ Body, Nose, Trim, Fin RGB }

// Vehicle is one vehicle in view. Along its axis, 0 is the tail and Length the tip of the nose;
// for a Ball, which has no axis, 0 and Length are its lower and upper ends, or the other way
// round where it falls.
type Vehicle struct {
	Motion Motion
	Start  float64 // s, the scene's time at which the motion's time is 0
	Across float64 // m, X of the pad
	Range  float64 // m, Z of the pad
	Pad    float64 // m, height of the tail above the ground at rest
	Lean   float64 // rad, of the flight line away from the camera
	Slant  float64 // rad, of the flight line to the right
	Falls  bool    // moves down

	Shape    Shape
	Length   float64 // m
	Diameter float64 // m
	Livery   Livery
	Exhaust  Exhaust
	Launcher bool // draw what it stands on
}

// sheet is the plane in which the vehicle moves; its origin is the tail at rest.
func (v *Vehicle) sheet(c *Camera) sheet {
	ss, cs := math.Sincos(v.Slant)
	sl, cl := math.Sincos(v.Lean)
	axis := vec{ss * cl, cs * cl, sl}
	if v.Falls {
		axis = axis.times(-1)
	}
	return newSheet(c, vec{v.Across, v.Pad, v.Range}, axis)
}

// parts returns what the vehicle is made of, in the order in which it is drawn.
func (v *Vehicle) parts() []part {
	switch v.Shape {
	case Ball:
		l, r := v.Livery, v.Length/2
		b := ball(r, []Band{{0, l.Body}, {r * 0.86, l.Trim}, {r * 1.02, l.Body}})
		b.body.down = v.Falls
		return []part{b}
	case Bottle:
		return v.bottleParts()
	}
	return v.rocketParts()
}

// RadiusAt is how thick the vehicle is, from its axis, at a place along it (m); fins left out.
func (v *Vehicle) RadiusAt(along float64) float64 {
	for _, p := range v.parts() {
		if p.body != nil && p.body.surface != nil {
			if along < p.lo || along > p.hi {
				return 0
			}
			radius, _ := p.body.surface(along)
			return radius
		}
	}
	return 0
}

// fins are four, thin plates to the left and the right and, edge on, on the near side; the one on the far side is hidden.
func (v *Vehicle) fins(r, low float64) (behind []part, front part) {
	d := v.Diameter
	paint := []Band{{0, v.Livery.Fin}}
	root, tip := [2]float64{low, low + 1.25*d}, [2]float64{low - 0.12*d, low + 0.42*d}
	span := r + 0.62*d
	behind = []part{trapezoid(r*0.9, span, root, tip, paint), trapezoid(-r*0.9, -span, root, tip, paint)}
	return behind, plate(0.04*d, r*0.9, span, root, tip, v.Livery.Fin.times(0.72))
}

func (v *Vehicle) rocketParts() []part {
	l, r, length := v.Livery, v.Diameter/2, v.Length
	noseLength := min(0.30*length, 3.2*v.Diameter)
	shoulder := length - noseLength
	fins, front := v.fins(r, 0.03*length)
	bands := []Band{
		{0, l.Body.times(0.55)}, {0.018 * length, l.Body}, {0.30 * length, l.Trim}, {0.335 * length, l.Body},
		{shoulder - 0.20*length, l.Trim}, {shoulder - 0.145*length, l.Body}, {shoulder - 0.115*length, l.Trim},
		{shoulder - 0.06*length, l.Body}, {shoulder, l.Nose.times(0.6)}, {shoulder + 0.008*length, l.Nose},
		{shoulder + 0.55*noseLength, l.Trim}, {shoulder + 0.63*noseLength, l.Nose},
	}
	return append(fins, tube(r, length, noseLength, nil, bands), front)
}

func (v *Vehicle) bottleParts() []part {
	l, r, length := v.Livery, v.Diameter/2, v.Length
	noseLength := min(0.34*length, 1.9*v.Diameter)
	shoulder := length - noseLength
	mouth, taper := 0.28*r, 0.95*v.Diameter // the mouth's radius, and over how much the bottle widens
	fins, front := v.fins(r*0.86, 0.30*taper)
	glass, water := RGB{0.50, 0.60, 0.64}, RGB{0.26, 0.40, 0.47}
	bands := []Band{
		{0, l.Trim.times(0.5)}, {0.055 * v.Diameter, water}, {0.55 * taper, water.toward(glass, 0.4)},
		{0.8 * taper, glass}, {taper + 0.05*length, l.Body}, {taper + 0.09*length, l.Trim}, {taper + 0.12*length, l.Body},
		{shoulder - 0.13*length, l.Trim}, {shoulder - 0.07*length, l.Body}, {shoulder - 0.02*length, glass},
		{shoulder, l.Nose.times(0.6)}, {shoulder + 0.01*length, l.Nose},
		{shoulder + 0.40*noseLength, l.Trim}, {shoulder + 0.50*noseLength, l.Nose},
	}
	return append(fins, tube(r, length, noseLength, &neck{mouth, r, taper}, bands), front)
}

// launcherParts are the stand under a vehicle, on its sheet at rest (0 is the tail).
func (v *Vehicle) launcherParts() []part {
	steel, dark := RGB{0.34, 0.35, 0.36}, RGB{0.05, 0.05, 0.055}
	plate := v.Diameter * 2.4
	h := v.Pad
	parts := []part{
		box(-plate/2, plate/2, -0.42*h, -0.42*h+0.016, []Band{{-1, steel}}),
		trapezoid(0.02, plate*0.62, [2]float64{-0.46 * h, -0.40 * h}, [2]float64{-h, -h + 0.014}, []Band{{-9, dark}}),
		trapezoid(-0.02, -plate*0.62, [2]float64{-0.46 * h, -0.40 * h}, [2]float64{-h, -h + 0.014}, []Band{{-9, dark}}),
		box(-0.011, 0.011, -h, 0, []Band{{-9, steel.times(0.6)}}),
	}
	if v.Shape == Rocket {
		rod := -v.Diameter * 0.78
		parts = append(parts, box(rod-0.0035, rod+0.0035, -0.45*h, 1.5*v.Length, []Band{{-9, steel}}))
	}
	return parts
}
