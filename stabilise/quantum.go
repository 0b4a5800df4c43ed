package stabilise

import (
	"math"
	"slices"
)

// The step in which differences are coded. A block of H.264 or H.265 that changes, changes by whole
// steps of its coefficients, and one that would change by less than about half a step is copied. So
// the least change that is ever seen of a block is the step: a block of which one coefficient
// changes by one differs from what it was by as much, root of the sum of squares (an orthonormal
// transform keeps it, Parseval; ITU-T H.264, 8.5, up to rounding). No number of the codec is needed
// for it, and no codec's name.

const (
	// quantumShare is the quantile of the changes that stands for the least: below it lies what
	// only the filter between blocks has changed.
	quantumShare = 0.1
	// quantumChanges is how many tell it.
	quantumChanges = 8
	// usualQuantum is the step where nothing tells it, and mostQuantum the largest that is
	// believed, levels: what moves changes blocks by more. At rate factors of 16, 20 and 24 an
	// encoder takes 7, 9 and 13 (bench/world, development seeds 20000 to 20015).
	usualQuantum, mostQuantum = 9.0, 18.0
)

// change is by how much the block differs from the last frame, root of the sum of squares of its
// levels; 0 where it was not coded anew.
func (b *block) change(now []float32) float64 {
	changed, sum := 0, 0.0
	l := b.light(now)
	for k, v := range now {
		if e := float64(l.Differs(b.last[k], v)); e != 0 {
			changed, sum = changed+1, sum+e*e
		}
	}
	if float64(changed) < renewedLeast*float64(len(now)) {
		return 0
	}
	return math.Sqrt(sum)
}

// Quantum is the step in which the clip's differences are coded, levels.
func (d *Drift) Quantum() float64 {
	if d == nil || len(d.changes) < quantumChanges {
		return usualQuantum
	}
	all := slices.Clone(d.changes)
	slices.Sort(all)
	return min(mostQuantum, all[int(quantumShare*float64(len(all)))])
}
