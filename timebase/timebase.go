package timebase

import "math/big"

// Basis says how the true time of each frame is known.
type Basis string

// The four ways of contract.md, [footage.time] basis.
const (
	Container Basis = "container" // the file's stamps are real time
	Rate      Basis = "rate"      // index / true capture rate
	EXIF      Basis = "exif"      // DateTimeOriginal + SubSecTimeOriginal
	List      Basis = "list"      // given in the launch file
)

// Base gives the true time of every frame and row. Time zero is frame 0's stamp.
type Base struct {
	Basis    Basis
	Stamps   []*big.Rat // seconds, exact, one per frame, frame 0 at 0, for every basis but Rate
	Hz       *big.Rat   // true capture rate, for Rate
	RateU    float64    // relative standard uncertainty of the rate: one common factor of the launch
	StampU   float64    // standard uncertainty of each stamp by itself (rounding), s
	Exposure float64    // s; the picture is centred half of it after the stamp
	RowTime  float64    // rolling shutter: delay from one row to the next, s, top row (y = 0) first
}

// Time returns the instant (s) at which row y (pixels, y down, 0 = centre of the top row)
// of frame i is centred: stamp + Exposure/2 + y*RowTime.
func (b *Base) Time(i int, y float64) float64 { panic("timebase: to be written") }
