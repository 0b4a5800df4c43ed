package scene

import (
	"math"
	"testing"
)

// Glare lifts what is black by its share of white, everywhere, and makes the sky about the sun brighter than white.
func TestGlare(t *testing.T) {
	t.Parallel()
	cam := Camera{Width: 60, Height: 60, FocalLength: 0.1, PixelPitch: 1e-3, Elevation: 1, Tilt: 0.3}
	s := &Scene{Camera: cam, Sensor: Sensor{Mono: true}, Stamps: []float64{0}, Light: Light{Azimuth: math.Pi, Height: 0.3, Glare: 0.5}}
	dark := newCanvas(3, 3, 1)
	s.spreadGlare(dark)
	for i, v := range dark.planes[0] {
		if math.Abs(float64(v)-0.5*glareShare) > 1e-6 {
			t.Errorf("pixel %d of a black picture = %g, want %g", i, v, 0.5*glareShare)
		}
	}
	c := s.expose(0)
	sun := cam.Project(0, 1+100*math.Sin(0.3), 100*math.Cos(0.3))
	at := int(math.Round(sun.Y))*c.w + int(math.Round(sun.X))
	s.Light.Glare = 0
	plain := (&Scene{Camera: cam, Sensor: s.Sensor, Stamps: s.Stamps, Light: s.Light}).expose(0)
	if c.planes[0][at] < 2 || plain.planes[0][at] > 1 {
		t.Errorf("the sky at the sun is %g of white, and without glare %g; want above 2 and below 1", c.planes[0][at], plain.planes[0][at])
	}
}
