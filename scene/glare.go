package scene

import "math"

// halo is the sky's colour with the light about the sun, which is bright within a few of its own widths and fades over some tens of degrees.
func (p *painter) halo(col RGB, d vec) RGB {
	if p.Glare == 0 {
		return col
	}
	off := math.Acos(max(-1, min(1, d.unit().dot(p.lamp.sun))))
	bright := p.Glare * (6*math.Exp(-math.Pow(off/0.07, 2)) + 1.1*math.Exp(-off/0.35))
	for k := range col {
		col[k] += bright * p.lamp.tint[k]
	}
	return col
}

// glareShare is how much of white the lens spreads evenly over a picture at full glare. (Common practice, no source: a lens with the sun in or near
// the picture loses most of its blacks.)
const glareShare = 0.16

// spreadGlare adds the light that the lens spreads over the whole picture.
func (s *Scene) spreadGlare(c *canvas) {
	if s.Light.Glare == 0 {
		return
	}
	more := float32(s.gain() * glareShare * s.Light.Glare)
	for _, plane := range c.planes {
		for i := range plane {
			plane[i] += more
		}
	}
}
