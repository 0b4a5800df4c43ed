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

	Cock     Cock
	Turn     float64 // rad, of the fins and of what is painted on one side, about the axis
	Spin     float64 // rad per metre of height, added to it
	Lopsided bool    // painted on one side otherwise than on the other
	Water    float64 // m, of a Bottle that is clear: how high in it the water stands at rest. It sinks to nothing while the exhaust lasts; 0: not clear

	drained bool // Water is that of an instant
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
	paint := []Band{{From: 0, Colour: v.Livery.Fin}}
	root, tip := [2]float64{low, low + 1.25*d}, [2]float64{low - 0.12*d, low + 0.42*d}
	span := r + 0.62*d
	behind = []part{trapezoid(r*0.9, span, root, tip, paint), trapezoid(-r*0.9, -span, root, tip, paint)}
	return behind, plate(0.04*d, r*0.9, span, root, tip, v.Livery.Fin.times(0.72))
}

// allFins are the fins of a vehicle as it is turned, those behind the body and those before it.
func (v *Vehicle) allFins(r, low float64) (behind, front []part) {
	if v.Turn != 0 || v.Spin != 0 {
		return v.turnedFins(r, low)
	}
	behind, plate := v.fins(r, low)
	return behind, []part{plate}
}

// clearBody makes a bottle's tube one that is seen through: water up to its level, its surface, air, then a label. clear is how much shows through each band.
func (v *Vehicle) clearBody(r, noseLength float64, n *neck) part {
	l := v.Livery
	shoulder := v.Length - noseLength
	water, glass, surface := RGB{0.30, 0.40, 0.44}, RGB{0.62, 0.68, 0.70}, RGB{0.72, 0.78, 0.80}
	bands, clear := []Band{{0, l.Trim.times(0.5)}}, []float64{0}
	add := func(from float64, c RGB, through float64) {
		if from > bands[len(bands)-1].From {
			bands, clear = append(bands, Band{from, c}), append(clear, through)
		}
	}
	lip := 0.055 * v.Diameter
	if v.Water > lip {
		add(lip, water, 0.4)
		add(v.Water, surface, 0.2)
	}
	add(max(lip, v.Water+0.008*v.Length), glass, 0.7)
	add(shoulder-0.10*v.Length, l.Body, 0)
	add(shoulder+0.01*v.Length, l.Nose, 0)
	p := tube(r, v.Length, noseLength, n, bands)
	for i, through := range clear {
		for k := range p.body.rings[i].colour {
			p.body.rings[i].colour[k] *= 1 - through
		}
	}
	return p
}

func (v *Vehicle) rocketParts() []part {
	l, r, length := v.Livery, v.Diameter/2, v.Length
	noseLength := min(0.30*length, 3.2*v.Diameter)
	shoulder := length - noseLength
	fins, front := v.allFins(r, 0.03*length)
	bands := []Band{
		{0, l.Body.times(0.55)}, {0.018 * length, l.Body}, {0.30 * length, l.Trim}, {0.335 * length, l.Body},
		{shoulder - 0.20*length, l.Trim}, {shoulder - 0.145*length, l.Body}, {shoulder - 0.115*length, l.Trim},
		{shoulder - 0.06*length, l.Body}, {shoulder, l.Nose.times(0.6)}, {shoulder + 0.008*length, l.Nose},
		{shoulder + 0.55*noseLength, l.Trim}, {shoulder + 0.63*noseLength, l.Nose},
	}
	parts := append(append(fins, tube(r, length, noseLength, nil, bands)), v.patches(r, 0.32*length, shoulder-0.22*length)...)
	return append(parts, front...)
}

func (v *Vehicle) bottleParts() []part {
	l, r, length := v.Livery, v.Diameter/2, v.Length
	noseLength := min(0.34*length, 1.9*v.Diameter)
	shoulder := length - noseLength
	mouth, taper := 0.28*r, 0.95*v.Diameter // the mouth's radius, and over how much the bottle widens
	fins, front := v.allFins(r*0.86, 0.30*taper)
	glass, water := RGB{0.50, 0.60, 0.64}, RGB{0.26, 0.40, 0.47}
	bands := []Band{
		{0, l.Trim.times(0.5)}, {0.055 * v.Diameter, water}, {0.55 * taper, water.toward(glass, 0.4)},
		{0.8 * taper, glass}, {taper + 0.05*length, l.Body}, {taper + 0.09*length, l.Trim}, {taper + 0.12*length, l.Body},
		{shoulder - 0.13*length, l.Trim}, {shoulder - 0.07*length, l.Body}, {shoulder - 0.02*length, glass},
		{shoulder, l.Nose.times(0.6)}, {shoulder + 0.01*length, l.Nose},
		{shoulder + 0.40*noseLength, l.Trim}, {shoulder + 0.50*noseLength, l.Nose},
	}
	body := tube(r, length, noseLength, &neck{mouth, r, taper}, bands)
	if v.Water > 0 || v.drained {
		body = v.clearBody(r, noseLength, &neck{mouth, r, taper})
	}
	parts := append(append(fins, body), v.patches(r, taper+0.02*length, shoulder-0.02*length)...)
	return append(parts, front...)
}

// launcherParts are the stand under a vehicle, on its sheet at rest (0 is the tail).
func (v *Vehicle) launcherParts() []part {
	steel, dark := RGB{0.34, 0.35, 0.36}, RGB{0.05, 0.05, 0.055}
	plate := v.Diameter * 2.4
	h := v.Pad
	parts := []part{
		box(-plate/2, plate/2, -0.42*h, -0.42*h+0.016, []Band{{From: -1, Colour: steel}}),
		trapezoid(0.02, plate*0.62, [2]float64{-0.46 * h, -0.40 * h}, [2]float64{-h, -h + 0.014}, []Band{{From: -9, Colour: dark}}),
		trapezoid(-0.02, -plate*0.62, [2]float64{-0.46 * h, -0.40 * h}, [2]float64{-h, -h + 0.014}, []Band{{From: -9, Colour: dark}}),
		box(-0.011, 0.011, -h, 0, []Band{{From: -9, Colour: steel.times(0.6)}}),
	}
	if v.Shape == Rocket {
		rod := -v.Diameter * 0.78
		parts = append(parts, box(rod-0.0035, rod+0.0035, -0.45*h, 1.5*v.Length, []Band{{From: -9, Colour: steel}}))
	}
	return parts
}
