package camera

import (
	"math/rand/v2"
)

// Names of the sources, for budgets.
const (
	sourceMarks    = "scale marks"
	sourceLength   = "reference length"
	sourceDistance = "camera distance"
	sourceLean     = "lean of the flight"
	sourceTilt     = "camera tilt"
	sourceSize     = "apparent size"
	sourceLens     = "lens"
)

// draws is one joint draw of all errors, in units of their standard uncertainty.
type draws struct {
	marks              []float64 // one per mark coordinate
	spread             float64   // the factor on the marks' stated uncertainty, see noise
	length, lean, tilt float64
	width              float64 // of the perspective that widths at the marks show
	size, power        float64 // of the apparent size, and -1 to 1 of the power it grows by
	reference, flight  float64 // ranges
	parallax           float64 // -1 to 1, of the allowance for ranges that are not given
	focal              float64
}

// sourceOrder is the order in which streams are taken: it must never depend on the spec,
// lest two setups that differ in one point see other draws elsewhere.
var sourceOrder = [...]string{sourceMarks, sourceLength, sourceDistance, sourceLean, sourceTilt, sourceSize, sourceLens}

// draw fills d. Each source has a random stream of its own, seeded whether it is held or not, so that holding one
// does not change the numbers of the others: from setup, but for the lean and the apparent size, which are each launch's own.
func (s *Scale) draw(setup, launch *rand.Rand, hold string, d *draws) {
	*d = draws{marks: d.marks, spread: s.noise.best}
	for i := range d.marks {
		d.marks[i] = 0
	}
	for _, name := range sourceOrder {
		own := rand.New(rand.NewPCG(setup.Uint64(), setup.Uint64()))
		each := own
		if name == sourceLean || name == sourceSize {
			each = rand.New(rand.NewPCG(launch.Uint64(), launch.Uint64()))
		}
		if name == hold {
			continue
		}
		switch name {
		case sourceMarks:
			d.spread = s.noise.draw(own)
			for i := range d.marks {
				d.marks[i] = own.NormFloat64()
			}
		case sourceLength:
			d.length = own.NormFloat64()
		case sourceDistance:
			d.reference, d.flight, d.parallax = own.NormFloat64(), own.NormFloat64(), 2*own.Float64()-1
		case sourceLean:
			d.lean = each.NormFloat64()
		case sourceTilt:
			d.tilt = own.NormFloat64()
		case sourceSize:
			d.width, d.size, d.power = own.NormFloat64(), each.NormFloat64(), 2*each.Float64()-1
		case sourceLens:
			d.focal = own.NormFloat64()
		}
	}
}

// at sets one source, of those that are not marks, for finding out which sources matter.
func (d *draws) at(name string, value float64) {
	switch name {
	case sourceLength:
		d.length = value
	case sourceDistance:
		d.reference, d.parallax = value, value
	case sourceLean:
		d.lean = value
	case sourceTilt:
		d.tilt = value
	case sourceSize:
		d.size, d.width, d.power = value, value, value
	case sourceLens:
		d.focal = value
	}
}
