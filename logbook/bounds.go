package logbook

import (
	"fmt"
	"math"

	"padside/units"
)

// bound is what a quantity of a dimension can be, SI: 0, or of a size from least to most, of either sign. The limits are those of what something real
// could have, with orders of magnitude to spare (common practice, no source): they keep out slips of the hand, and what no arithmetic can be trusted with.
type bound struct{ least, most float64 }

var bounds = map[units.Dimension]bound{
	units.Length:       {1e-9, 1e7}, // less than a wavelength of light; nearly the diameter of the earth
	units.Area:         {1e-14, 1e8},
	units.Volume:       {1e-12, 1e5},
	units.Mass:         {1e-7, 1e7},
	units.Time:         {1e-12, 1e10}, // a clock that counts from 1970 is at 2e9
	units.Frequency:    {1e-5, 1e8},   // a picture a day; the fastest cameras
	units.Speed:        {1e-7, 1e6},
	units.Acceleration: {1e-6, 1e8},
	units.Force:        {1e-7, 1e9},
	units.Pressure:     {1e-3, 1e10},
	units.Energy:       {1e-9, 1e13},
	units.Impulse:      {1e-9, 1e11},
	units.Temperature:  {1, 1e4},
	units.Angle:        {1e-9, 100},
	units.Pixels:       {1e-9, 1e6},
	units.Ratio:        {1e-12, 1e6},
}

// mostNumber bounds plain numbers: places in the picture, shutter and lens numbers.
const mostNumber = 1e9

// leastNumber is the least that a number above zero can be: an f-number, an ISO value.
const leastNumber = 1e-3

// holds says whether a value can be. Only a temperature is not 0 and has one sign.
func (b bound) holds(d units.Dimension, v float64) bool {
	if d == units.Temperature {
		return v >= b.least && v <= b.most
	}
	return v == 0 || math.Abs(v) >= b.least && math.Abs(v) <= b.most
}

// possible says whether a reading of an instrument can be: its noise may be as small as it likes.
func (b bound) possible(v float64) bool { return math.Abs(v) <= b.most }

// real refuses a quantity beyond what something real could have, its uncertainty too.
func (r *reader) real(line int, what string, q units.Quantity, d units.Dimension) bool {
	b, ok := bounds[d]
	if !ok || b.holds(d, q.Value) && q.U <= b.most {
		return true
	}
	s := units.SI(d).Symbol
	if d == units.Ratio {
		s = ""
	}
	value := fmt.Sprintf("%g", q.Value)
	if b.holds(d, q.Value) {
		value = fmt.Sprintf("an uncertainty of %g", q.U)
	}
	r.fail(line, spaced(fmt.Sprintf("give a %s of %g to %g", d, b.least, b.most), s), "%s: %s is beyond anything real", what, spaced(value, s))
	return false
}

func spaced(text, unit string) string {
	if unit == "" {
		return text
	}
	return text + " " + unit
}
