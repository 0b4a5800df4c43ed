package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"padside/motion"
)

// drawn is a plan drawn by chance.
type drawn struct {
	name string
	text string // its shoot file
}

// filmedBy is a kind of camera.
type filmedBy struct {
	name          string
	width, height int     // px, as the sensor lies
	rate          float64 // Hz
	pitch         float64 // m
	shortest      float64 // s
	lowest, high  float64 // ISO
	burst         bool
}

// cameras are of sizes that are drawn in reasonable time: what counts is how many pixels the
// vehicle has.
var cameras = []filmedBy{
	{"high-speed", 640, 320, 1000, 13e-6, 5e-6, 500, 8000, false},
	{"phone 240", 768, 432, 240, 2.4e-6, 1. / 20000, 50, 3200, false},
	{"phone 60", 960, 540, 60, 1.8e-6, 1. / 12000, 50, 3200, false},
	{"phone 30", 960, 540, 30, 1.8e-6, 1. / 12000, 50, 3200, false},
	{"burst", 960, 640, 12, 18e-6, 1. / 4000, 100, 6400, true},
}

// kinds of what flies; bottles, which are gone soonest, more often.
var kinds = []motion.Kind{motion.Bottle, motion.Motor, motion.Bottle, motion.Dropped}

// draw draws plan i of a grid: cameras and kinds in turn, so that each meets each, all else by
// chance.
func draw(i int, seed uint64) drawn {
	r := rand.New(rand.NewPCG(seed+uint64(i), 0x706c616e))
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	c, kind := cameras[i%len(cameras)], kinds[(i/len(cameras)+i)%len(kinds)]
	c.rate *= between(0.8, 1.25)
	near, bright := r.IntN(2) == 0, r.IntN(2) == 0
	pull, top, length, field := 0., 0., 0., 0.
	switch kind {
	case motion.Bottle:
		pull, top, length, field = between(150, 700), between(18, 40), between(0.3, 0.7), between(1.6, 4)
	case motion.Motor:
		pull, top, length, field = between(20, 90), between(25, 60), between(0.8, 1.6), between(5, 12)
	case motion.Dropped:
		pull, length, field = 9.80665, between(0.05, 0.2), between(2, 3.5)
	}
	slow := c.rate < 100 // it must see several frames of the flight
	if slow && kind == motion.Bottle {
		pull, field = between(80, 150), between(3.5, 6)
	}
	if c.burst {
		field *= 1.5
	}
	distance := field * between(2.5, 4)
	if near {
		distance = field * between(1, 1.5)
	}
	light := between(12.5, 15)
	if !bright {
		light = between(8, 10.5)
	}
	along, rotated, shutter := c.width, true, `shutter = "global"`
	if strings.HasPrefix(c.name, "phone") { // whose shutter nobody knows, and which some hold lying
		shutter = ""
		if r.IntN(3) == 0 {
			along, rotated = c.height, false
		}
	}
	rod, stated := distance*between(0.94, 1.05), between(0.002, 0.01)*distance
	way := field - length - 0.15*field // in view, above the nose
	if kind == motion.Dropped {
		way = 0.8 * field
	}
	speed := math.Sqrt(2 * pull * way)
	if kind != motion.Dropped {
		speed = math.Min(speed, top)
	}
	var w strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&w, format+"\n", args...) }
	line("format = 1\ntitle = \"plan %d\"\n\n[[camera]]\nname = %q\npixel_pitch = \"%g um\"\n%s", i+1, c.name, 1e6*c.pitch, shutter)
	line("exposure = { shortest = \"%g s\", longest = \"%g s\" }\niso = { lowest = %g, highest = %g }", c.shortest, 0.9/c.rate, c.lowest, c.high)
	if c.burst {
		line("modes = [ { width = %d, height = %d } ]\nburst = { rate = \"%.4g Hz\", frames = 60, shutter_lag = \"50 ms\" }", c.width, c.height, c.rate)
	} else {
		line("modes = [ { width = %d, height = %d, rate = \"%.4g Hz\" } ]", c.width, c.height, c.rate)
	}
	line("\n[lens]\nfocal_length = \"%.4g mm\"\nwidest = %.2g", 1e3*distance/field*float64(along)*c.pitch, between(1.4, 2.8))
	line("\n[place]\nrange = \"%.4f m ± %.4f m\"\nheight = \"%.2f m\"\nrotated = %v", distance, 2*stated, between(0.5, 1.5), rotated)
	line("\n[light]\nev100 = %.1f", light)
	line("\n[reference]\nkind = \"rod\"\nlength = \"%.2f m\"\nmarks = %d\nrange = \"%.4f m ± %.4f m\"", between(0.5, 0.75)*field, 3+r.IntN(6), rod, 2*stated)
	line("\n[motion]\nkind = %q\nvehicle_length = \"%.3f m\"", kind, length)
	if kind == motion.Dropped {
		line("height = \"%.3f m\"", way)
	} else {
		line("acceleration = \"%.4g m/s2\"\ntop_speed = \"%.4g m/s\"", pull, top)
	}
	within := func() float64 { return []float64{1, 2, 3, 5, 10}[r.IntN(5)] }
	line("\n[[question]]\nanswer = \"time_to_speed\"\nspeed = \"%.3g m/s\"\nwithin = \"%g %%\"", 0.7*speed, within())
	line("\n[[question]]\nanswer = \"gate_speed\"\nheight = \"%.3g m\"\nwithin = \"%g %%\"", 0.6*way, within())
	line("\n[[question]]\nanswer = \"split_speed\"\nfrom = \"%.3g m\"\nto = \"%.3g m\"\nwithin = \"%g %%\"", 0.3*way, 0.6*way, within())
	line("\n[[question]]\nanswer = \"peak_speed\"\nwithin = \"%g %%\"", within())
	if kind == motion.Dropped {
		line("\n[[question]]\nanswer = \"free_fall_acceleration\"\nwithin = \"%g %%\"", within())
	} else {
		line("\n[[question]]\nanswer = \"peak_acceleration\"\nwithin = \"%g %%\"", 4*within())
	}
	where, day := "far", "dusk"
	if near {
		where = "near"
	}
	if bright {
		day = "day"
	}
	if !rotated {
		where += ", lying"
	}
	return drawn{fmt.Sprintf("%s, %s, %s, %s", kind, c.name, where, day), w.String()}
}
