package timebase

import (
	"math"
	"math/big"
	"math/rand/v2"
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

// TestDriftingRate: a camera at 60 a second whose rate swings by 8 % and whose stamps stray by 0.8 ms: the
// drift stays, the straying is smoothed away.
func TestDriftingRate(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(4, 4))
	var stamps []*big.Rat
	var truth []float64
	at := 0.0
	for range 120 {
		truth = append(truth, at)
		stamps = append(stamps, new(big.Rat).SetFloat64(at+0.8e-3*r.NormFloat64()))
		at += (1 + 0.08*math.Sin(2*math.Pi*at/1.5)) / 60
	}
	b, err := NewStamps(Container, stamps, Options{})
	if err != nil {
		t.Fatal(err)
	}
	even := b.EvenTimes()
	var sum, sq float64
	for i := range even {
		d := even[i] - even[60] - (truth[i] - truth[60])
		sum, sq = sum+d, sq+d*d
	}
	n := float64(len(even))
	if rms := math.Sqrt(sq/n - sum*sum/n/n); rms > 0.4e-3 {
		t.Errorf("times are off by %.2g ms rms, want half of what the stamps stray by at most", 1e3*rms)
	}
}
