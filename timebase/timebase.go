package timebase

import (
	"math"
	"math/big"

	"padside/fault"
)

// Basis says how the true time of each frame is known.
type Basis string

// The four ways of contract.md, [footage.time] basis.
const (
	Container Basis = "container" // the file's stamps are real time
	Rate      Basis = "rate"      // index / true capture rate
	EXIF      Basis = "exif"      // DateTimeOriginal + SubSecTimeOriginal
	List      Basis = "list"      // given in the launch file
)

// DefaultRateU is the relative standard uncertainty NewRate assumes for a capture rate whose
// uncertainty is not stated: 100 ppm, several times the tolerance of a common quartz
// oscillator (common practice, no source).
const DefaultRateU = 100e-6

// Base gives the true time of every frame and row. Time zero is frame 0's stamp.
type Base struct {
	Basis    Basis
	Stamps   []*big.Rat // seconds, exact, one per frame, frame 0 at 0, for every basis but Rate
	Hz       *big.Rat   // true capture rate, for Rate
	RateU    float64    // relative standard uncertainty of the rate: one common factor of the launch
	StampU   float64    // standard uncertainty of each stamp by itself (rounding), s
	StampUs  []float64  // s, that of each stamp where they differ; nil: StampU
	Exposure float64    // s; the picture is centred half of it after the stamp
	// ExposureUnknown says that nobody stated the exposure: anything up to the frame interval.
	ExposureUnknown bool
	Shutter         Shutter // Time counts with its RowTime; what else is possible is in its Scans
	Readout         Readout
}

// Readout says which of the sensor's rows shows a place (x, y) of an upright picture: row = First + X x + Y y (px; x right, y
// down). The zero value is a picture that was not turned: row = y.
type Readout struct{ First, X, Y float64 }

// Row is the sensor's row that shows a place of the upright picture.
func (r Readout) Row(x, y float64) float64 {
	if r == (Readout{}) {
		return y
	}
	return r.First + r.X*x + r.Y*y
}

// Options is what a Base knows beside its stamps or its rate. The zero value is right for
// short exposures and a global shutter.
type Options struct {
	RateU    float64 // relative; 0 means DefaultRateU for NewRate, none for NewStamps
	StampU   float64 // s; see Rounding
	StampUs  []float64
	Exposure float64 // s
	// ExposureUnknown says that Exposure is no more than a guess.
	ExposureUnknown bool
	Shutter         Shutter // its RowTime is negative if the last row is read first
	Readout         Readout // where the picture was turned or mirrored
}

// NewRate makes the base of a constant true capture rate (Hz, exact): frame i is at i/hz.
func NewRate(hz *big.Rat, o Options) (*Base, error) {
	if hz == nil || hz.Sign() <= 0 {
		return nil, fault.Requestf(`give the true capture rate, for example rate = "1600 Hz"`,
			"a capture rate of %s is not positive", ratText(hz))
	}
	if o.RateU == 0 {
		o.RateU = DefaultRateU
	}
	b := &Base{Basis: Rate, Hz: new(big.Rat).Set(hz)}
	return b, b.apply(o)
}

// NewStamps makes a base from one stamp per frame (s, exact, strictly increasing, any
// origin). The stamps are copied and counted from frame 0's.
func NewStamps(basis Basis, stamps []*big.Rat, o Options) (*Base, error) {
	if basis != Container && basis != EXIF && basis != List {
		return nil, fault.Requestf(`basis is "container", "rate", "exif" or "list"`,
			"time stamps cannot have the basis %q", string(basis))
	}
	if len(stamps) < 2 {
		return nil, fault.Requestf("speed needs at least two frames whose times are known",
			"%d time stamp(s) make no time base", len(stamps))
	}
	b := &Base{Basis: basis, Stamps: make([]*big.Rat, len(stamps))}
	for i, s := range stamps {
		if s == nil {
			return nil, fault.Requestf("give one time per frame", "frame %d has no time stamp", i)
		}
		if i > 0 && s.Cmp(stamps[i-1]) <= 0 {
			return nil, notIncreasing(basis, stamps, i)
		}
		b.Stamps[i] = new(big.Rat).Sub(s, stamps[0])
	}
	return b, b.apply(o)
}

// NewList makes a base from times in seconds as written in a launch file, one per frame.
func NewList(times []float64, o Options) (*Base, error) {
	stamps := make([]*big.Rat, len(times))
	for i, t := range times {
		if math.IsNaN(t) || math.IsInf(t, 0) {
			return nil, fault.Requestf("give every time in seconds", "time %d of the list is %g", i, t)
		}
		stamps[i] = new(big.Rat).SetFloat64(t)
	}
	return NewStamps(List, stamps, o)
}

func notIncreasing(basis Basis, stamps []*big.Rat, i int) error {
	hint := "times must rise from frame to frame: put the frames in order of time, or leave out the doubtful ones"
	if basis == EXIF {
		hint = `the cameras' stamps are too coarse to tell these shots apart: use basis "rate" with the burst rate, or basis "list"`
	}
	how := "before"
	if stamps[i].Cmp(stamps[i-1]) == 0 {
		how = "at the same time as"
	}
	return fault.Requestf(hint, "frame %d is stamped %s frame %d (%s s and %s s)",
		i, how, i-1, stamps[i].FloatString(6), stamps[i-1].FloatString(6))
}

// apply checks and stores the options.
func (b *Base) apply(o Options) error {
	for _, c := range []struct {
		name   string
		value  float64
		signed bool
	}{
		{"uncertainty of the rate", o.RateU, false},
		{"uncertainty of a stamp", o.StampU, false},
		{"exposure", o.Exposure, false},
		{"row time", o.Shutter.RowTime, true},
		{"uncertainty of the row time", o.Shutter.RowTimeU, false},
	} {
		if math.IsNaN(c.value) || math.IsInf(c.value, 0) || c.value < 0 && !c.signed {
			return fault.Requestf("give a positive number, or leave it out", "the %s of the time base is %g", c.name, c.value)
		}
	}
	b.RateU, b.StampU, b.StampUs, b.Exposure, b.Shutter, b.Readout = o.RateU, o.StampU, o.StampUs, o.Exposure, o.Shutter, o.Readout
	b.ExposureUnknown = o.ExposureUnknown
	return nil
}

// Len returns the number of frames whose time is known, or -1 where a rate gives them all.
func (b *Base) Len() int {
	if b.Basis == Rate {
		return -1
	}
	return len(b.Stamps)
}

// Stamp returns the exact stamp of frame i in seconds after frame 0's: Stamps[i], or i/Hz.
// Frame i must be in 0 <= i < Len (any i for a rate). The result is the caller's own.
func (b *Base) Stamp(i int) *big.Rat {
	if b.Basis == Rate {
		n := new(big.Rat).SetInt64(int64(i))
		return n.Quo(n, b.Hz)
	}
	return new(big.Rat).Set(b.Stamps[i])
}

// TimeAt returns the instant (s) at which the place (x, y) of the upright picture of frame i is centred (px; x right, y down, the
// centre of the top left pixel is (0, 0)), as Time does.
func (b *Base) TimeAt(i int, x, y float64) float64 { return b.Time(i, b.Readout.Row(x, y)) }

// Time returns the instant (s) at which the sensor's row y (pixels, 0 = centre of the first row)
// of frame i is centred: stamp + Exposure/2 + y*Shutter.RowTime. The stamp is exact and rounded
// once; frame i must be in 0 <= i < Len (any i for a rate).
func (b *Base) Time(i int, y float64) float64 {
	var stamp float64
	if b.Basis == Rate {
		stamp, _ = b.Stamp(i).Float64()
	} else {
		stamp, _ = b.Stamps[i].Float64()
	}
	return stamp + b.Exposure/2 + y*b.Shutter.RowTime
}
