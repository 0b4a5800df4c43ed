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
	for i, got := range b.EvenTimes().Times {
		if math.Abs(got-truth[i]) > rounding {
			t.Errorf("frame %d at %g s, want %g s", i, got, truth[i])
		}
	}
	if b.Basis = List; b.EvenTimes() != nil {
		t.Error("listed times have even ones")
	}
}

// drifting is a camera at 60 a second whose interval swings by swing over period (s), whose
// pictures come late or early by takenU (s) each, and whose stamps stray from that by strayU.
func drifting(r *rand.Rand, n int, swing, period, takenU, strayU float64) (b *Base, steady []float64, err error) {
	var stamps []*big.Rat
	at, phase := 0.0, 2*math.Pi*r.Float64()
	for range n {
		steady = append(steady, at)
		stamps = append(stamps, new(big.Rat).SetFloat64(at+takenU*r.NormFloat64()+strayU*r.NormFloat64()))
		at += (1 + swing*math.Sin(2*math.Pi*at/period+phase)) / 60
	}
	b, err = NewStamps(Container, stamps, Options{})
	first, _ := stamps[0].Float64()
	for i := range steady {
		steady[i] -= first
	}
	return b, steady, err
}

// TestDriftingRate: the drift stays, be it slow or as fast as a clip shows, and what stamps stray
// by is smoothed away. What is left is what U says: over all clips within a third, for it is of one
// rate of drift and ends are looser.
func TestDriftingRate(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ swing, period float64 }{{0, 1}, {0.04, 2}, {0.12, 2}, {0.12, 0.6}} {
		r := rand.New(rand.NewPCG(4, 4))
		var sq, uu, n float64
		for range 200 {
			const strayU = 1.5e-3
			b, truth, err := drifting(r, 60, c.swing, c.period, 0, strayU)
			if err != nil {
				t.Fatal(err)
			}
			even := b.EvenTimes()
			for i, at := range even.Times {
				sq, n = sq+(at-truth[i])*(at-truth[i]), n+1
			}
			uu += even.U * even.U * float64(len(truth))
		}
		rms, u := math.Sqrt(sq/n), math.Sqrt(uu/n)
		t.Logf("swing %g over %g s: %.2g ms, stated %.2g ms", c.swing, c.period, 1e3*rms, 1e3*u)
		if ratio := rms / u; ratio < 0.75 || ratio > 1.33 {
			t.Errorf("swing %g over %g s: times are off by %.2g ms, %.2g ms stated", c.swing, c.period, 1e3*rms, 1e3*u)
		}
		if rms > 0.9e-3 {
			t.Errorf("swing %g over %g s: times are off by %.2g ms, stamps by 1.5 ms", c.swing, c.period, 1e3*rms)
		}
	}
}

// TestStraysAreNoGaps: stamps that stray by a fifth of the interval count each frame once, but in
// one clip of fifty.
func TestStraysAreNoGaps(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(7, 7))
	const clips = 200
	wrong := 0
	for range clips {
		stamps := make([]float64, 40)
		for i := range stamps {
			stamps[i] = (float64(i) + 0.2*math.Max(-2, math.Min(2, r.NormFloat64()))) / 30
		}
		number, _ := numbered(stamps)
		if number[len(number)-1] != 39 {
			wrong++
		}
	}
	if wrong > clips/50 {
		t.Errorf("in %d of %d clips of 40 frames a gap is seen", wrong, clips)
	}
}
