package shoot

import (
	"math"
	"math/rand/v2"

	"padside/camera"
)

// When the trace sees how the length of the vehicle's barrel changes on its way, and how well: see
// package trace. The vehicle is taken to have one.
const (
	rulerFrames           = 12          // in flight, at least
	rulerLeast, rulerMost = 50.0, 400.0 // px that the vehicle is long
	rulerU, rulerNarrow   = 0.0007, 8.0 // standard uncertainty of the change over the view, and how many px wide a barrel is that doubles it
	// rulerOdds is how often the trace of a vehicle that could show its barrel's length does: dark
	// bands before dark trees and blur hide it, and no plan knows what stands behind: 15 of 23
	// drawn films of bench/plans and of the sample, seeds below 1000.
	rulerOdds              = 0.6
	rulerPieces, rulerLong = 20, 0.1 // heights at which it is worked out, and of what length, m
)

// ruler is the change of length that the trace would see of an upright flight from height rest on;
// not known where it would see none.
func (s *Shoot) ruler(c Camera, o *Option, v view, reach float64, r *rand.Rand) camera.Growth {
	rest := s.Expected.Front()
	long := s.Expected.Length / v.metresPerPixel(rest)
	if s.Expected.falls() || c.Burst != nil || o.viewTime*o.Rate < rulerFrames || long < rulerLeast || long > rulerMost {
		return camera.Growth{}
	}
	length := func(h float64) float64 { return v.row(h) - v.row(h+rulerLong) }
	top := s.Expected.Motion.At(o.viewTime).Height
	var sxx, sxy float64
	for i := range rulerPieces {
		h := rest + top*float64(i+1)/rulerPieces
		along := v.row(rest) - v.row(h)
		sxx, sxy = sxx+along*along, sxy+along*(length(h)/length(rest)-1)
	}
	wide := s.Expected.diameter() / v.metresPerPixel(rest)
	u := rulerU * (1 + rulerNarrow/wide) / math.Max(reach, 1)
	return camera.Growth{Rate: sxy/sxx + u*r.NormFloat64(), U: u, Known: true, Ruler: true, Wide: wide}
}
