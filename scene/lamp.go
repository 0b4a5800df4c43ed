package scene

import "math"

// Light is the light of the day.
type Light struct {
	Azimuth  float64 // rad, of the sun: 0 behind the camera, positive to the right
	Height   float64 // rad, of the sun above the horizon
	Overcast float64 // 0: clear sky, hard light; 1: no sun at all
	Exposure float64 // linear gain of the picture; 0: 1
	Haze     float64 // 0 to 1, how pale the distance is
	Warmth   float64 // -1 to 1, colour of the sun: cold to warm
	Mist     float64 // 0 to 1, how much of everything a mist before the camera hides
	Glare    float64 // 0 to 1, for a sun ahead: how bright the sky is about it, and how much of that the lens spreads over the whole picture
}

// lamp is Light worked out once.
type lamp struct {
	sun     vec // unit, toward the sun
	half    vec // unit, halfway between the sun and the camera in the plane across an upright axis; 0 where there is none
	direct  float64
	ambient float64
	tint    RGB // of direct light
}

func newLamp(l Light) *lamp {
	sa, ca := math.Sincos(l.Azimuth)
	sh, ch := math.Sincos(l.Height)
	sun := vec{sa * ch, sh, -ca * ch}
	half := vec{sun.x, 0, sun.z - 1}
	if half.dot(half) > 0 {
		half = half.unit()
	}
	return &lamp{
		sun: sun, half: half,
		direct:  0.95 * (1 - l.Overcast),
		ambient: 0.42 + 0.35*l.Overcast,
		tint:    RGB{1 + 0.10*l.Warmth, 1, 1 - 0.16*l.Warmth},
	}
}

// flat is the light on what faces the camera.
func (l *lamp) flat() float64 { return l.ambient + l.direct*max(0, -l.sun.z) }

// on returns the light on a solid at distance q from its axis, which is upright, where it has a radius with a slope (above zero where it widens upward). It is
// shaded by its normal and has a soft highlight.
func (l *lamp) on(q, radius, slope float64) float64 {
	if radius <= 0 {
		return l.ambient
	}
	x := max(-1, min(1, q/radius))
	z := -math.Sqrt(1 - x*x)
	gloss := power60(max(0, x*l.half.x+z*l.half.z))
	side := 0.82 - 0.18*z // less sky is seen from the edges
	facing := x*l.sun.x + z*l.sun.z
	if slope != 0 {
		facing = (facing - slope*l.sun.y) / math.Sqrt(1+slope*slope)
	}
	return l.ambient*side + l.direct*(max(0, facing)+0.25*gloss)
}

// power60 is x^60.
func power60(x float64) float64 {
	x4 := x * x * x * x
	x8 := x4 * x4
	x16 := x8 * x8
	return x16 * x16 * x16 * x8 * x4
}
