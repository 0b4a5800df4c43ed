package scene

import "math"

// Sway is how a hand turns the camera about its optical axis and how its lens zooms while one films. In frame 0 there is neither.
type Sway struct {
	Roll float64 // rad, root mean square
	Zoom float64 // relative, root mean square, of the focal length
}

// cameraAt is the camera in frame i.
func (s *Scene) cameraAt(i int) *Camera {
	c := &s.Camera
	if c.Sway == (Sway{}) {
		return c
	}
	turned := *c
	roll, zoom := s.swayAt(s.Stamps[i])
	turned.Roll += roll
	turned.FocalLength *= math.Exp(zoom)
	return &turned
}

// swayAt is by how much the camera has rolled at time t (s) since frame 0, rad, and the logarithm of how much its lens has zoomed.
func (s *Scene) swayAt(t float64) (roll, zoom float64) {
	c := &s.Camera
	if c.Sway == (Sway{}) {
		return 0, 0
	}
	seed := s.again() ^ 0x73776179
	since := func(salt uint64) float64 { return wander(t, seed+salt) - wander(s.Stamps[0], seed+salt) }
	return c.Sway.Roll * since(0), c.Sway.Zoom * since(1<<32)
}

// wander is slow movement of unit mean square: a sum of sines from 0.15 to 4 Hz with amplitudes that fall with frequency.
func wander(t float64, seed uint64) float64 {
	const n = 9
	var sum, squares float64
	for i := range n {
		f := 0.15 * math.Pow(4/0.15, float64(i)/(n-1))
		sum += math.Sin(2*math.Pi*(f*t+unitHash(seed, i))) / f
		squares += 1 / (2 * f * f)
	}
	return sum / math.Sqrt(squares)
}

// reach is how far (px) beyond the picture the backdrop may be looked at.
func (s *Scene) reach() int {
	c := &s.Camera
	px := 4 * c.Shake
	px += 3 * (c.Sway.Roll + c.Sway.Zoom) * 2 * math.Hypot(float64(c.Width), float64(c.Height)) / 2
	px += 2*s.Backdrop.Breeze + math.Abs(s.Backdrop.Drift)*(s.Stamps[len(s.Stamps)-1]-s.Stamps[0])
	return int(math.Ceil(px))
}
