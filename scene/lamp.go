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
}

// lamp is Light worked out once.
type lamp struct {
	sun     vec // unit, toward the sun
	direct  float64
	ambient float64
	tint    RGB // of direct light
}

func newLamp(l Light) *lamp {
	sa, ca := math.Sincos(l.Azimuth)
	sh, ch := math.Sincos(l.Height)
	return &lamp{
		sun:     vec{sa * ch, sh, -ca * ch},
		direct:  0.95 * (1 - l.Overcast),
		ambient: 0.42 + 0.35*l.Overcast,
		tint:    RGB{1 + 0.10*l.Warmth, 1, 1 - 0.16*l.Warmth},
	}
}

// on returns the light at a place of a part. A body of revolution is shaded by its
// normal and has a soft highlight; a flat part faces the camera.
func (l *lamp) on(p *part, q, s float64) float64 {
	normal := vec{0, 0, -1}
	gloss := 0.0
	if p.roundness != nil {
		r := p.roundness(s)
		if r <= 0 {
			return l.ambient
		}
		t := max(-1, min(1, q/r))
		normal = vec{t, 0, -math.Sqrt(1 - t*t)}
		half := vec{l.sun.x, 0, l.sun.z - 1}
		if n := half.dot(half); n > 0 {
			gloss = math.Pow(max(0, normal.dot(half)/math.Sqrt(n)), 60)
		}
	}
	facing := max(0, normal.dot(l.sun))
	side := 0.82 + 0.18*math.Abs(normal.z) // less sky is seen from the edges
	return l.ambient*side + l.direct*(facing+0.25*gloss)
}
