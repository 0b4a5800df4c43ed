package shoot

import (
	"math"
	"math/rand/v2"

	"padside/camera"
)

// When the trace sees how the length of the vehicle's barrel changes on its way, and how well: see package trace. The vehicle is taken to have one.
const (
	rulerFrames            = 12          // in flight, at least
	rulerLeast, rulerMost  = 50.0, 400.0 // px that the vehicle is long
	rulerU                 = 0.001       // standard uncertainty of the change over the view
	rulerPieces, rulerLong = 20, 0.1     // heights at which it is worked out, and of what length, m
)

// ruler is the change of length that the trace would see of an upright flight from height rest on; not known where it would see none.
func (s *Shoot) ruler(c Camera, o *Option, v view, reach float64, r *rand.Rand) camera.Growth {
	rest := s.Expected.Length
	long := s.Expected.Length / v.metresPerPixel(rest)
	if c.Burst != nil || o.viewTime*o.Rate < rulerFrames || long < rulerLeast || long > rulerMost {
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
	u := rulerU / math.Max(reach, 1)
	return camera.Growth{Rate: sxy/sxx + u*r.NormFloat64(), U: u, Known: true, Ruler: true}
}
