package stabilise

import (
	"math"
	"testing"
)

// TestQuantum: blocks that change by one coefficient of an orthonormal transform, quantised in
// steps of 10, tell the step; what the filter between blocks changes does not hide it, and light
// that changes all is not taken for one.
func TestQuantum(t *testing.T) {
	const q = 10.0
	b := &block{last: make([]float32, BlockSide*BlockSide)}
	d := &Drift{}
	for n := range 40 {
		u := 1 + n%5
		now := make([]float32, BlockSide*BlockSide)
		for k := range now { // cosines of the transform of 8 by 8 (ITU-T T.81, A.3.3)
			now[k] = float32(math.Round(q / 4 * float64(1+n%3) / math.Sqrt2 * math.Cos(math.Pi*float64(u)*(2*float64(k/BlockSide)+1)/16)))
		}
		d.changes = append(d.changes, b.change(now))
	}
	if got := d.Quantum(); math.Abs(got-q) > 0.1*q {
		t.Errorf("step %.2f, want %g", got, q)
	}
	for k := range d.changes {
		d.changes[k] *= 20
	}
	if got := d.Quantum(); got != mostQuantum {
		t.Errorf("step %.2f where all light changes, want %g", got, mostQuantum)
	}
	if got := (&Drift{}).Quantum(); got != usualQuantum {
		t.Errorf("step %.2f of nothing, want %g", got, usualQuantum)
	}
}
