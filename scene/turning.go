package scene

import "math"

// Cock is how a vehicle turns its nose away from the way it flies, as into the wind, once it has left its rod. It turns about its middle, which keeps to the flight line.
type Cock struct {
	Angle   float64 // rad, at last
	Azimuth float64 // rad, where to: 0 to the right, pi/2 away from the camera
	After   float64 // m of height at which it begins
	Over    float64 // m of height after which it is done
}

// at is the angle at a height.
func (k Cock) at(height float64) float64 { return k.Angle * smooth(k.After, k.After+k.Over, height) }

// sheetAt is the plane in which a vehicle is drawn in frame i. Along it the tail is at the motion's height, as on the sheet of the flight line.
func (s *Scene) sheetAt(v *Vehicle, i int) sheet {
	way := v.sheet(s.cameraAt(i))
	if v.Cock.Angle == 0 {
		return way
	}
	t := s.Stamps[i] + s.Camera.Exposure/2 - v.Start
	tail := way.see(v.Motion.At(t).Height, 0)
	h := v.Motion.At(t + s.Camera.Delay(tail.X, tail.Y)).Height
	st, ct := math.Sincos(v.Cock.at(h))
	sa, ca := math.Sincos(v.Cock.Azimuth)
	aside := way.across.times(ca).sub(way.toward.times(sa))
	axis := way.along.times(ct).add(aside.times(st))
	middle := h + v.Length/2
	return newSheet(way.camera, way.origin.add(way.along.times(middle)).sub(axis.times(middle)), axis)
}

// staged is a vehicle as it is in frame i.
func (s *Scene) staged(n, i int) *stage {
	v, st := &s.Vehicles[n], &s.stages[n]
	if !v.changes() && s.Camera.Sway == (Sway{}) {
		return st
	}
	now := stage{sheet: s.sheetAt(v, i), way: v.sheet(s.cameraAt(i)), parts: st.parts, puffs: st.puffs}
	if v.changes() {
		t := s.seenAt(n+1, i) - v.Start
		now.parts = v.partsAt(t)
	}
	return &now
}

// changes says whether the vehicle looks otherwise from frame to frame.
func (v *Vehicle) changes() bool { return v.Spin != 0 || v.Cock.Angle != 0 || v.Water > 0 }

// partsAt is what the vehicle is made of at a time of its motion.
func (v *Vehicle) partsAt(t float64) []part {
	now := *v
	now.Turn += v.Spin * v.Motion.At(t).Height
	if e := v.Exhaust; v.Water > 0 && e.To > e.From {
		now.Water = v.Water * clamp01((e.To-t)/(e.To-e.From))
		now.drained = true
	}
	return now.parts()
}

// turnedFins are four fins about the axis at a turn, those behind the body and those before it.
func (v *Vehicle) turnedFins(r, low float64) (behind, front []part) {
	d := v.Diameter
	root, tip := [2]float64{low, low + 1.25*d}, [2]float64{low - 0.12*d, low + 0.42*d}
	span := r + 0.62*d
	for k := range 4 {
		s, c := math.Sincos(v.Turn + float64(k)*math.Pi/2)
		if math.Abs(s)*span < 0.05*d+r*0.9*math.Abs(s) && c > 0 { // edge on
			front = append(front, plate(0.04*d, r*0.9, span, root, tip, v.Livery.Fin.times(0.72)))
			continue
		}
		paint := []Band{{From: 0, Colour: v.Livery.Fin.times(0.72 + 0.28*math.Abs(s))}}
		f := trapezoid(r*0.9*s, span*s, root, tip, paint)
		if c > 0 {
			front = append(front, f)
		} else {
			behind = append(behind, f)
		}
	}
	return behind, front
}

// patches are what is painted on one side only: a broad stripe along the body, over 140 degrees about the axis, and a square across from it.
func (v *Vehicle) patches(r, from, to float64) []part {
	if !v.Lopsided {
		return nil
	}
	const wide = 70 * math.Pi / 180
	out := around(r, [2]float64{from, to}, [2]float64{v.Turn - wide, v.Turn + wide}, v.Livery.Trim)
	middle, high := (from+to)/2, (to-from)/5
	return append(out, around(r, [2]float64{middle - high, middle + high}, [2]float64{v.Turn + math.Pi - 0.5, v.Turn + math.Pi + 0.5}, v.Livery.Nose)...)
}

// around is the near side of a patch on a tube of radius r, from and to along its axis, between two angles about it: 0 is the middle of the near side, pi/2 the right edge.
func around(r float64, along, angles [2]float64, colour RGB) []part {
	var out []part
	for k := -2.0; k <= 2; k++ {
		a, b := max(-math.Pi/2, angles[0]+2*math.Pi*k), min(math.Pi/2, angles[1]+2*math.Pi*k)
		if a >= b {
			continue
		}
		p := part{lo: along[0], hi: along[1], left: r * math.Sin(a), right: r * math.Sin(b)}
		p.span = func(float64) (lo, hi float64) { return along[0], along[1] }
		p.body = newBody([]Band{{From: along[0], Colour: colour}}, func(float64) float64 { return r })
		p.body.most = r
		p.body.surface = func(float64) (radius, slope float64) { return r, 0 }
		near := func(q float64) float64 { return math.Sqrt(max(0, r*r-q*q)) }
		p.body.tail = func(q, _ float64) (rim, float64) { return rim{along[0], near(q)}, along[0] }
		p.body.nose = func(q, _ float64) (rim, float64) { return rim{along[1], near(q)}, along[1] }
		out = append(out, p)
	}
	return out
}
