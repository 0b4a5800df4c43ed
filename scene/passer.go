package scene

import "math"

// Passer is somebody who walks by, at a constant speed.
type Passer struct {
	Across float64 // m, X at the scene's time 0
	Speed  float64 // m/s, to the right
	Range  float64 // m, Z
	Height float64 // m
	Coat   RGB
}

// Flag is a cloth on an upright pole, waving to the right of it.
type Flag struct {
	Across, Range float64 // m, X and Z of the pole
	Pole, Size    float64 // m: the pole's height, the cloth's length
	Colour        RGB
	Hz            float64 // of its waves
}

// passing draws flags and who walks by, those behind the first vehicle or those before it.
func (s *Scene) passing(c *canvas, at shown, behind bool) {
	still := func(int, int) []float64 { return []float64{0} }
	put := func(across, away float64, parts []part) {
		if behind != (len(s.Vehicles) == 0 || away >= s.Vehicles[0].Range) {
			return
		}
		sheet := newSheet(at.Camera, vec{across, 0, away}, vec{0, 1, 0})
		s.drawParts(c, parts, stroke{sheet: &sheet, knots: still, light: s.lamp, hand: at.movement})
	}
	for _, f := range s.Flags {
		put(f.Across, f.Range, f.parts(at.t))
	}
	for _, p := range s.Passers {
		put(p.Across+p.Speed*at.t, p.Range, p.parts(at.t))
	}
}

// parts is the person in mid step, 0 at the ground: two legs, a coat, arms, a head.
func (p *Passer) parts(t float64) []part {
	h := p.Height
	dark, skin := RGB{0.035, 0.035, 0.05}, RGB{0.42, 0.27, 0.20}
	step := 0.16 * h * math.Sin(2*math.Pi*math.Abs(p.Speed)/(0.8*h)*t) // a pace of 0.8 of the height
	leg := func(foot float64, c RGB) part { return slanted(0, foot, [2]float64{0, 0.5 * h}, 0.045*h, c) }
	arm := func(hand float64) part {
		return slanted(0, hand, [2]float64{0.42 * h, 0.8 * h}, 0.028*h, p.Coat.times(0.8))
	}
	return []part{
		leg(-step, dark.times(0.7)), leg(step, dark), arm(step), box(-0.085*h, 0.085*h, 0.45*h, 0.83*h, []Band{{Colour: p.Coat}}), arm(-step),
		disc(0.065*h, 0.93*h, skin),
	}
}

// slanted is a limb of a width from across foot below to across top above.
func slanted(top, foot float64, span [2]float64, wide float64, c RGB) part {
	p := part{paint: newPaint([]Band{{From: -99, Colour: c}}), lo: span[0], hi: span[1], left: min(top, foot) - wide, right: max(top, foot) + wide, core: noCore}
	slope := (top - foot) / (span[1] - span[0])
	p.span = func(q float64) (lo, hi float64) {
		if math.Abs(slope) < 1e-6 {
			if math.Abs(q-foot) > wide {
				return 1, 0
			}
			return span[0], span[1]
		}
		a, b := span[0]+(q-wide-foot)/slope, span[0]+(q+wide-foot)/slope
		return max(span[0], min(a, b)), min(span[1], max(a, b))
	}
	return p
}

// disc is a flat disc about a place of the axis.
func disc(r, middle float64, c RGB) part {
	return part{paint: newPaint([]Band{{From: -99, Colour: c}}), lo: middle - r, hi: middle + r, left: -r, right: r, core: noCore,
		span: func(q float64) (lo, hi float64) {
			d := math.Sqrt(max(0, r*r-q*q))
			return middle - d, middle + d
		}}
}

// parts is the pole and the cloth, in strips that ride on its waves.
func (f *Flag) parts(t float64) []part {
	pole := 0.012 * f.Pole
	out := []part{box(-pole/2, pole/2, 0, f.Pole, []Band{{Colour: RGB{0.4, 0.4, 0.42}}})}
	const strips = 14
	high := 0.6 * f.Size
	for k := range strips {
		u := (float64(k) + 0.5) / strips
		phase := 2 * math.Pi * (1.6*u - f.Hz*t)
		lift := 0.10*f.Size*u*math.Sin(phase) - 0.12*f.Size*u*u
		shade := 1 + 0.35*math.Cos(phase)
		top := f.Pole + lift
		out = append(out, box(f.Size*float64(k)/strips, f.Size*float64(k+1)/strips, top-high, top, []Band{
			{From: -99, Colour: f.Colour.times(shade)}, {From: top - 0.6*high, Colour: RGB{0.75, 0.75, 0.72}.times(shade)}, {From: top - 0.35*high, Colour: f.Colour.times(shade)}}))
	}
	return out
}
