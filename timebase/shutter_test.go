package timebase

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// phone is a clip of 240 pictures a second, 720 px wide and 1280 high as it is watched.
var phone = Filmed{Interval: 1.0 / 240, Width: 720, Height: 1280}

func TestScansOfUnknownShutters(t *testing.T) {
	t.Parallel()
	turned := phone
	turned.Turned, turned.Readout = true, Readout{First: 719, X: -1}
	fast := Filmed{Interval: 1.0 / 1600, Width: 1280, Height: 720}
	for _, c := range []struct {
		name     string
		filmed   Filmed
		sideways float64 // probability that reading goes along the picture's rows
		global   float64
	}{
		{"stored upright", phone, 2 * sideways, 0},
		{"turned by the file", turned, 1, 0},
		{"lying", Filmed{Interval: 1.0 / 30, Width: 1920, Height: 1080}, 0, 0},
		{"high speed", fast, 0, globalIfFast},
	} {
		var total, across, global float64
		for _, s := range (Shutter{}).Scans(c.filmed) {
			total += s.P
			switch {
			case s.High == 0:
				global += s.P
			case s.Readout.X != 0:
				across += s.P
			}
		}
		const rounding = 1e-12
		if math.Abs(total-1) > rounding || math.Abs(across-c.sideways) > rounding || math.Abs(global-c.global) > rounding {
			t.Errorf("%s: probabilities add up to %g, sideways %g, global %g; want 1, %g, %g", c.name, total, across, global, c.sideways, c.global)
		}
	}
}

func TestStatedShutters(t *testing.T) {
	t.Parallel()
	if s := (Shutter{Kind: Global}).Scans(phone); s != nil {
		t.Errorf("a global shutter has scans %v", s)
	}
	scans := Shutter{Kind: Rolling, RowTime: 2.8e-6, RowTimeU: 0.1e-6}.Scans(phone)
	if len(scans) != 1 {
		t.Fatalf("a stated row time has %d scans", len(scans))
	}
	// The delay of the last row is normal: 1279 rows of 2.8(1) us.
	r, src := NewReader(scans, nil), rand.New(rand.NewPCG(1, 1))
	var sum, sq float64
	const n = 4000
	for range n {
		d := r.Draw(src).At(100, 1279)
		sum, sq = sum+d, sq+d*d
	}
	mean := sum / n
	sd := math.Sqrt(sq/n - mean*mean)
	if want := 1279 * 2.8e-6; math.Abs(mean/want-1) > 0.01 || math.Abs(r.Mean().At(0, 1279)/want-1) > 1e-9 {
		t.Errorf("mean delay %g s, want %g s", mean, want)
	}
	if want := 1279 * 0.1e-6; math.Abs(sd/want-1) > 0.1 {
		t.Errorf("standard deviation %g s, want %g s", sd, want)
	}
}

// TestReaderLearns: what the footage tells of the delay narrows it, and decides on the edge.
func TestReaderLearns(t *testing.T) {
	t.Parallel()
	f := Filmed{Interval: 1.0 / 30, Width: 1920, Height: 1080}
	told := -15e-3 / 1080 // s for each row: read from the lower edge, in 15 ms
	r := NewReader((Shutter{}).Scans(f), func(d Delay) float64 {
		e := (d.Y - told) / 1e-6
		return math.Exp(-e * e / 2)
	})
	if got := r.Mean().Y; math.Abs(got-told) > 0.2e-6 {
		t.Errorf("mean %g s for each row, want %g", got, told)
	}
	if r.Mean().Start < 14e-3 { // the upper edge comes last
		t.Errorf("the first row is read %g s after the first of the sensor", r.Mean().Start)
	}
}

// TestStretches: 30 Hz, then 240 Hz from frame 3 on, by hand.
func TestStretches(t *testing.T) {
	t.Parallel()
	b, err := NewStretches([]Stretch{{0, big.NewRat(30, 1)}, {3, big.NewRat(240, 1)}}, 6, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{"0", "1/30", "1/15", "1/10", "5/48", "13/120"} {
		if got := b.Stamp(i).RatString(); got != want {
			t.Errorf("frame %d at %s s, want %s s", i, got, want)
		}
	}
	if b.RateU != DefaultRateU {
		t.Errorf("the rate is known to %g", b.RateU)
	}
	if _, err := NewStretches([]Stretch{{0, big.NewRat(30, 1)}, {9, big.NewRat(240, 1)}}, 6, Options{}); err == nil {
		t.Error("a stretch beyond the footage is taken")
	}
}

func TestDoubtOfExposure(t *testing.T) {
	t.Parallel()
	b, err := NewRate(big.NewRat(240, 1), Options{ExposureUnknown: true, Shutter: Shutter{Kind: Global}})
	if err != nil {
		t.Fatal(err)
	}
	d := b.Doubt(phone)
	if got, want := d.Offset(1), 1.0/480; math.Abs(got-want) > 1e-12 || d.Offset(0) != 0 {
		t.Errorf("the middle of an exposure that nobody stated lies up to %g s after the stamp, want %g s", got, want)
	}
	b.ExposureUnknown, b.Exposure = false, 1e-3
	if d = b.Doubt(phone); d.Offset(0.3) != 0 || d.Longest != d.Least {
		t.Errorf("a stated exposure leaves %g s open", d.Offset(0.3))
	}
}
