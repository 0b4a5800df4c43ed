package timebase

import (
	"math"
	"math/big"
	"testing"
)

// TestEvenTimes: 240 a second rounded to milliseconds, a frame missing after the fourth.
func TestEvenTimes(t *testing.T) {
	t.Parallel()
	var stamps []*big.Rat
	var truth []float64
	for i := range 60 {
		n := i
		if i > 3 {
			n++
		}
		at := float64(n) / 240
		truth = append(truth, at)
		stamps = append(stamps, big.NewRat(int64(math.Round(at*1000)), 1000))
	}
	b, err := NewStamps(Container, stamps, Options{})
	if err != nil {
		t.Fatal(err)
	}
	const rounding = 0.15e-3 // s: 0.29 ms rms over the root of 60, twice over at the ends
	for i, got := range b.EvenTimes() {
		if math.Abs(got-truth[i]) > rounding {
			t.Errorf("frame %d at %g s, want %g s", i, got, truth[i])
		}
	}
	if b.Basis = List; b.EvenTimes() != nil {
		t.Error("listed times have even ones")
	}
}
