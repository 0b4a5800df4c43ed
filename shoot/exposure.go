package shoot

import (
	"fmt"
	"math"

	"padside/camera"
)

// exposure is how a camera would be set.
type exposure struct {
	time     float64 // s
	aperture float64 // f-number
	iso      float64
	blur     float64 // px, how far the vehicle moves while a picture is taken, where it is fastest
	short    float64 // stops that the light falls short; 0: enough
	bright   bool    // too much light even at the smallest aperture and the shortest exposure

	lightNeeded float64 // EV at ISO 100 that allows the exposure wanted, at the widest aperture and the highest ISO
	isoNeeded   float64 // at the widest aperture, in the light there is, for the exposure wanted
}

const (
	// wantedBlur is how far the fastest vehicle may move during an exposure, px: the match knows the blur, but a blurred edge is a weaker one.
	wantedBlur = 1.0
	// smallest is the smallest aperture used, an f-number: beyond it diffraction blurs.
	smallest = 16.0
	// openFor is the largest part of a frame's interval that the shutter can be open.
	openFor = 0.95
)

// expose chooses exposure, aperture and ISO for a vehicle that moves by so many pixels a second: the exposure that keeps blur within wantedBlur if the
// light allows it at the highest ISO, at the lowest ISO and the smallest aperture that do; else the shortest that the light allows.
func expose(c Camera, l Lens, light, rate, speed float64) exposure {
	most := math.Min(c.Longest, openFor/rate)
	want := math.Min(math.Max(wantedBlur/math.Max(speed, 1e-9), c.Shortest), most)
	e := exposure{
		lightNeeded: camera.LightValue(l.Widest, want, c.HighestISO),
		isoNeeded:   camera.Sensitivity(l.Widest, want, light),
	}
	e.time, e.aperture, e.iso = want, l.Widest, e.isoNeeded
	switch {
	case e.iso > c.HighestISO: // too dark for that: longer
		e.iso = c.HighestISO
		e.time = camera.Exposure(l.Widest, e.iso, light)
		if e.time > most {
			e.short = math.Log2(e.time / most)
			e.time = most
		}
	case e.iso < c.LowestISO: // too bright for that: a smaller aperture, then a shorter exposure
		e.iso = c.LowestISO
		e.aperture = l.Widest * math.Sqrt(e.iso/e.isoNeeded)
		if e.aperture > math.Max(smallest, l.Widest) {
			e.aperture = math.Max(smallest, l.Widest)
			e.time = camera.Exposure(e.aperture, e.iso, light)
			if e.time < c.Shortest {
				e.time, e.bright = c.Shortest, true
			}
		}
	}
	e.blur = speed * e.time
	return e
}

// Shutter writes an exposure as cameras show it, to two digits.
func Shutter(s float64) string {
	if s >= 0.5 {
		return fmt.Sprintf("%.2g s", s)
	}
	n := 1 / s
	unit := math.Pow(10, math.Floor(math.Log10(n))-1)
	return fmt.Sprintf("1/%.0f s", math.Round(n/unit)*unit)
}
