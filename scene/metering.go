package scene

import "math"

// Turn is a change of the picture's gain, as automatic exposure makes it: from At (s, the scene's time) it goes to Gain, a factor of
// linear light, evenly over Over (s); 0: in one step.
type Turn struct{ At, Over, Gain float64 }

// Metering is how the gain changes while one films: each turn begins where the one before has ended, the first at a gain of 1. The gain of a
// frame is that at its stamp: it never changes within one.
type Metering []Turn

// at is the gain at a time.
func (m Metering) at(t float64) float64 {
	gain := 1.0
	for _, turn := range m {
		switch {
		case t < turn.At:
			return gain
		case t < turn.At+turn.Over:
			return mixf(gain, turn.Gain, (t-turn.At)/turn.Over)
		}
		gain = turn.Gain
	}
	return gain
}

// Mains is lamp light that pulses with the mains, twice in each of its periods: the whole picture's light goes as
// 1 + Depth cos(2 pi (Hz t + Phase)), t the scene's time. A rolling shutter makes bands of it.
type Mains struct {
	Hz    float64 // of the pulses: 100 or 120
	Depth float64 // 0 to 1; 0: steady light
	Phase float64 // of a period, 0 to 1
}

// over is the mean of the pulsing light over an exposure that begins at t: 1 + Depth sinc(Hz exposure) cos(2 pi (Hz (t + exposure/2) + Phase)),
// sinc x = sin(pi x)/(pi x). (Derived.)
func (m Mains) over(t, exposure float64) float64 {
	if m.Depth == 0 {
		return 1
	}
	share, x := 1.0, math.Pi*m.Hz*exposure
	if x > 1e-9 {
		share = math.Sin(x) / x
	}
	return 1 + m.Depth*share*math.Cos(2*math.Pi*(m.Hz*(t+exposure/2)+m.Phase))
}

// meter multiplies the canvas of frame i by what metering and mains make of its light, after the lens has spread glare over it.
func (s *Scene) meter(c *canvas, i int) {
	s.spreadGlare(c)
	gain := s.Metering.at(s.Stamps[i])
	if gain == 1 && s.Mains.Depth == 0 {
		return
	}
	factor := func(x, y int) float32 {
		return float32(gain * s.Mains.over(s.Stamps[i]+s.Camera.delay(float64(x), float64(y)), s.Camera.Exposure))
	}
	columns := make([]float32, c.w)
	for x := range columns {
		columns[x] = factor(x, 0)
	}
	for y := range c.h {
		row := factor(0, y)
		for _, plane := range c.planes {
			line := plane[y*c.w : (y+1)*c.w]
			if s.sideways() {
				for x, f := range columns {
					line[x] *= f
				}
				continue
			}
			for x := range line {
				line[x] *= row
			}
		}
	}
}
