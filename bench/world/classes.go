package main

import (
	"hash/fnv"
	"math/rand/v2"
)

// class is one thing that a camera or the world does, of which the launch file says nothing unless its name does.
type class struct {
	key, name, group string
	scope            scope
	film             func(c chance, s *shot) // sets camera, light and what moves, before the frames are known
	store            func(c chance, s *shot) // changes which frames are stored and how; nil: each once
}

// groupNames are in the order of the table: what the camera does to time and light, what the world does, and nothing of either.
var groupNames = []string{"camera", "world", "plain"}

// draw draws the take of a seed.
func (k class) draw(seed uint64) *shot {
	h := fnv.New64a()
	h.Write([]byte(k.key))
	c := chance{rand.New(rand.NewPCG(seed, h.Sum64()))}
	s := begin(c, k.scope)
	k.film(c, s)
	s.run(c, k.scope)
	if k.store != nil {
		k.store(c, s)
	}
	return s
}

// What classes are drawn from.
var (
	launched = []string{"bottle", "motor"}
	all      = []string{"bottle", "motor", "motor", "drop"}
	usual    = [2]float64{45, 220} // px
)

func classes() []class {
	var out []class
	add := func(group, key, name string, w scope, film, store func(c chance, s *shot)) {
		out = append(out, class{key, name, group, w, film, store})
	}
	slow := func(hz float64) scope {
		return scope{kinds: []string{"motor", "motor", "bottle", "drop"}, rates: []float64{hz}, length: usual, lying: 0.4}
	}
	add("camera", "rolling240", "rolling shutter not stated, 240 fps", slow(240), rolling, nil)
	add("camera", "rolling60", "rolling shutter not stated, 60 fps", slow(60), rolling, nil)
	add("camera", "rolling30", "rolling shutter not stated, 30 fps", slow(30), rolling, nil)
	any := scope{kinds: all, rates: []float64{30, 60, 120, 240, 240, 480}, length: usual, lying: 0.3}
	add("camera", "rollingstated", "rolling shutter stated 4 % off", any, rollingStated, nil)
	add("camera", "dropped", "frames dropped in flight", any, bright, lost)
	add("camera", "repeated", "frames repeated in flight", any, bright, repeated)
	phones := scope{kinds: all, rates: []float64{25, 30, 50, 60, 60, 120}, length: usual, lying: 0.3}
	add("camera", "variable", "variable rate, stamps true", phones, stamped, unsteady)
	add("camera", "jittered", "variable rate, stamps jittered", phones, stamped, jittered)
	add("camera", "coarse", "stamps rounded", scope{kinds: all, rates: []float64{25, 30, 50, 60, 120, 240}, length: usual, lying: 0.3}, stamped, coarse)
	add("camera", "playback", "slow motion at its playback times", scope{kinds: launched, rates: []float64{120, 240, 240, 480, 960}, length: usual, lying: 0.3}, bright, playback)
	wide := scope{kinds: all, rates: []float64{30, 60, 120, 240, 500, 1000}, length: usual, lying: 0.3}
	add("camera", "unexposed", "exposure not stated", wide, unexposed, nil)
	add("camera", "steps", "exposure steps and drift", any, metered, nil)
	add("camera", "mains", "mains light", scope{kinds: all, rates: []float64{30, 60, 120, 240, 480}, length: usual, lying: 0.3}, mains, nil)
	add("camera", "backlight", "backlight", any, backlit, nil)
	add("camera", "rodfar", "rod far from the flight line", any, rodFar, nil)
	add("camera", "bottle240", "plain bottles, 240 fps", scope{kinds: []string{"bottle"}, rates: []float64{240}, length: usual}, bright, nil)
	add("camera", "motor240", "plain motors, 240 fps", scope{kinds: []string{"motor"}, rates: []float64{240}, length: usual}, bright, nil)
	add("camera", "long", "long exposure, 30 and 60 fps", scope{kinds: all, rates: []float64{30, 60}, length: usual, lying: 0.3}, long, nil)
	add("camera", "stills", "few stills", scope{kinds: []string{"motor"}, rates: []float64{5, 8, 10, 20}, length: usual, lying: 0.2, frames: 60}, bright, few)
	add("camera", "cut", "cut in flight", any, bright, cut)
	world := scope{kinds: all, rates: []float64{30, 60, 120, 240, 240, 480}, length: usual, lying: 0.3}
	of := func(kinds ...string) scope { w := world; w.kinds = kinds; return w }
	sized := func(lo, hi float64) scope { w := of(launched...); w.length = [2]float64{lo, hi}; return w }
	large := sized(300, 500)
	large.long, large.frames = [2]int{960, 1280}, 90
	add("world", "trees", "trees in the wind", of(launched...), trees, nil)
	add("world", "crowd", "people and flags", of(launched...), crowd, nil)
	add("world", "clouds", "clouds the colour of the vehicle", of(launched...), cloudy, nil)
	add("world", "mist", "mist", world, misty, nil)
	add("world", "spray", "spray before the body", of("bottle"), sprayed, nil)
	add("world", "flame", "saturating flame", of("motor"), flaming, nil)
	add("world", "clear", "clear bottles", of("bottle"), clearBottle, nil)
	add("world", "turning", "turning vehicles", of(launched...), turning, nil)
	add("world", "cocking", "weathercocking", of(launched...), cocking, nil)
	add("world", "hand", "hand-held: shake, roll, zoom", of(launched...), held, nil)
	add("world", "handrolls", "hand-held, rolling shutter not stated", scope{kinds: launched, rates: []float64{30, 30, 60, 60, 120, 240}, length: usual, lying: 0.3}, handRolling, nil)
	add("world", "tiny", "vehicles of 8 to 16 px", sized(8, 16), bright, nil)
	add("world", "large", "vehicles of 300 to 500 px", large, bright, nil)
	add("world", "wide", "wide lens, not stated", world, wideLens, nil)
	add("world", "woven", "interlaced", scope{kinds: all, rates: []float64{50, 60}, length: usual, lying: 0.7}, stamped, woven)
	add("world", "phone", "phones, only the scale stated", scope{kinds: launched, rates: []float64{30, 60, 120, 240}, length: usual, lying: 0.4}, phone, loosely)
	add("plain", "fast", "bottles, 500 to 2000 fps", scope{kinds: []string{"bottle"}, rates: []float64{500, 1000, 1600, 2000}, length: usual}, bright, nil)
	add("plain", "motors", "motors, 30 to 480 fps", scope{kinds: []string{"motor"}, rates: []float64{30, 60, 120, 240, 480}, length: usual, lying: 0.2}, bright, nil)
	add("plain", "drops", "drops, 60 to 480 fps", scope{kinds: []string{"drop"}, rates: []float64{60, 120, 240, 480}, length: usual}, bright, nil)
	return out
}
