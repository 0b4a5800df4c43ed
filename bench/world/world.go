package main

import (
	"math"

	"padside/scene"
)

// What the world does. Each states all of the camera, as bright does.

// trees sway behind the flight.
func trees(c chance, s *shot) {
	bright(c, s)
	b := &s.take.Scene.Backdrop
	b.Trees, b.Beyond, b.Breeze = c.between(8, 16), c.scaled(25, 90), c.scaled(0.7, 6)
}

// crowd is people walking by, most behind the flight, and flags in the wind behind it.
func crowd(c chance, s *shot) {
	bright(c, s)
	sc := s.take.Scene
	away := sc.Vehicles[0].Range
	half := away * float64(sc.Camera.Width) / 2 * sc.Camera.PixelPitch / sc.Camera.FocalLength
	for range 1 + c.IntN(2) {
		p := scene.Passer{Speed: c.between(0.8, 1.8), Range: away * pick(c, c.between(0.85, 0.95), c.between(1.1, 2.5), c.between(1.1, 2.5)), Height: c.between(1.5, 1.9),
			Coat: pick(c, scene.RGB{0.7, 0.7, 0.68}, scene.RGB{0.05, 0.06, 0.12}, scene.RGB{0.5, 0.05, 0.04}, scene.RGB{0.6, 0.45, 0.05})}
		p.Across = c.between(-1.1, 0.9) * half * p.Range / away
		if p.Range < away { // those before the flight line keep to one side of it
			p.Across = c.between(-1.2, -0.6) * half
		}
		if c.often(0.5) {
			p.Across, p.Speed = -p.Across, -p.Speed
		}
		sc.Passers = append(sc.Passers, p)
	}
	for range 1 + c.IntN(2) {
		f := scene.Flag{Range: away * c.between(1.05, 2), Pole: c.between(1.5, 4), Size: c.between(0.5, 1.4), Hz: c.between(0.8, 3),
			Colour: pick(c, scene.RGB{0.6, 0.05, 0.04}, scene.RGB{0.04, 0.08, 0.4}, scene.RGB{0.75, 0.72, 0.68})}
		f.Across = c.between(-0.9, 0.8) * half * f.Range / away
		sc.Flags = append(sc.Flags, f)
	}
}

// cloudy is a vehicle as white or grey as the clouds that drift behind it.
func cloudy(c chance, s *shot) {
	bright(c, s)
	sc := s.take.Scene
	grey := c.between(0.55, 0.95)
	cloud := scene.RGB{grey, grey, 1.02 * grey}
	sc.Vehicles[0].Livery = scene.Livery{Body: cloud, Nose: cloud, Trim: cloud, Fin: scene.RGB{0.9 * grey, 0.9 * grey, 0.9 * grey}}
	sc.Backdrop.Trees, sc.Backdrop.Clouds, sc.Backdrop.Drift = pick(c, 0, 3.), c.between(0.6, 1), c.scaled(2, 40)
	sc.Light.Overcast = c.between(0.2, 0.9)
}

func misty(c chance, s *shot) {
	bright(c, s)
	s.take.Scene.Light.Mist = c.between(0.2, 0.7)
}

// sprayed is water thrown up before the body as it is let go.
func sprayed(c chance, s *shot) {
	bright(c, s)
	e := &s.take.Scene.Vehicles[0].Exhaust
	e.Before, e.Strength = c.between(0.4, 1.6), c.between(1, 2.5)
}

// flaming is a flame so bright that the picture is white about it.
func flaming(c chance, s *shot) {
	bright(c, s)
	s.take.Scene.Vehicles[0].Exhaust.Flame = c.scaled(3, 14)
}

// clear is a bottle one sees through, with the water sinking in it.
func clearBottle(c chance, s *shot) {
	bright(c, s)
	v := &s.take.Scene.Vehicles[0]
	v.Water = c.between(0.25, 0.5) * v.Length
}

// turning is a vehicle that turns about its axis, fins, stripe and all.
func turning(c chance, s *shot) {
	bright(c, s)
	v := &s.take.Scene.Vehicles[0]
	v.Turn, v.Spin, v.Lopsided = c.between(0, 6.3), c.scaled(0.2, 6)*pick(c, -1., 1), true
}

// cocking is a vehicle that turns its nose into the wind.
func cocking(c chance, s *shot) {
	bright(c, s)
	v := &s.take.Scene.Vehicles[0]
	v.Cock = scene.Cock{Angle: c.between(5, 25) * math.Pi / 180 * pick(c, -1., 1), Azimuth: c.between(-0.8, 0.8), After: c.between(0.3, 1.5) * v.Length,
		Over: c.between(1.5, 8) * v.Length}
}

// held is a camera in a hand that shakes, turns and zooms.
func held(c chance, s *shot) {
	bright(c, s)
	s.hand(c)
}

// handRolling is a hand-held camera that reads line by line, of which nothing is said.
func handRolling(c chance, s *shot) {
	rolling(c, s)
	s.hand(c)
}

func (s *shot) hand(c chance) {
	cam := &s.take.Scene.Camera
	cam.Shake = c.scaled(0.7, 5)
	cam.Sway = scene.Sway{Roll: c.scaled(0.1, 1.2) * math.Pi / 180}
	if c.often(0.4) {
		cam.Sway.Zoom = c.scaled(0.003, 0.03)
	}
}

// wideLens is a lens that bends lines, of which nothing is stated.
func wideLens(c chance, s *shot) {
	bright(c, s)
	s.take.Scene.Camera.K1 = c.between(-0.16, -0.03)
}

// woven is interlaced: each picture two fields. The scene's frames are the fields.
func woven(c chance, s *shot) {
	s.recording = scene.Weave(s.take.Scene)
	s.clip.Codec, s.clip.CRF, s.clip.Playback = "", 18, 0
	s.said.basis, s.said.rate = "", ""
}

// phone states the scale alone: a shutter that rolls, an unknown exposure, uneven stamps, a hand, wind.
func phone(c chance, s *shot) {
	unexposed(c, s)
	s.shutterRolls(c)
	s.said.kind = ""
	if c.often(0.6) {
		s.hand(c)
	}
	if c.often(0.5) {
		s.take.Scene.Backdrop.Breeze = c.scaled(0.5, 4)
	}
	if c.often(0.4) {
		s.take.Scene.Metering = scene.Metering{{At: c.between(0, 40) / s.hz, Over: c.between(0, 10) / s.hz, Gain: c.scaled(0.7, 1.4)}}
	}
}

// loosely stores a phone's pictures: uneven stamps, at times a frame lost.
func loosely(c chance, s *shot) {
	if s.hz < 120 && c.often(0.5) {
		unsteady(c, s)
	}
	if c.often(0.3) {
		lost(c, s)
	}
}
