package timebase

import (
	"errors"
	"math"
	"math/big"
	"strings"
	"testing"

	"padside/fault"

	"pgregory.net/rapid"
)

func rats(texts ...string) []*big.Rat {
	var out []*big.Rat
	for _, s := range texts {
		r, ok := new(big.Rat).SetString(s)
		if !ok {
			panic(s)
		}
		out = append(out, r)
	}
	return out
}

func TestRateIsExact(t *testing.T) {
	t.Parallel()
	b, err := NewRate(big.NewRat(30000, 1001), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if b.RateU != DefaultRateU || b.Len() != -1 || !b.Constant() {
		t.Errorf("NewRate = %+v, want RateU %v, no length, constant", b, DefaultRateU)
	}
	// One million frames on, the stamp is still the exact rational.
	if got, want := b.Stamp(1_000_000), big.NewRat(1001*1_000_000, 30000); got.Cmp(want) != 0 {
		t.Errorf("Stamp(1e6) = %v, want %v", got, want)
	}
	if got, want := b.Time(1_000_000, 0), 1001*1_000_000/30000.0; got != want {
		t.Errorf("Time(1e6, 0) = %v, want %v", got, want)
	}
}

func TestTimeIsMidExposureOfTheRow(t *testing.T) {
	t.Parallel()
	o := Options{Exposure: 1.0 / 8000, Shutter: Shutter{RowTime: 12e-6}}
	byRate, err := NewRate(big.NewRat(1600, 1), o)
	if err != nil {
		t.Fatal(err)
	}
	// The classic trap: stamps do not start at zero.
	byStamp, err := NewStamps(Container, rats("7/90000", "1/2", "3/4"), o)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		b    *Base
		i    int
		y    float64
		want float64
	}{
		{"rate", byRate, 0, 0, 1.0 / 16000},
		{"rate row 100", byRate, 2, 100, 2.0/1600 + 1.0/16000 + 100*12e-6},
		{"stamps count from frame 0", byStamp, 0, 0, 1.0 / 16000},
		{"stamps", byStamp, 1, 0, 0.5 - 7.0/90000 + 1.0/16000},
	} {
		if got := c.b.Time(c.i, c.y); math.Abs(got-c.want) > 1e-16 { // one rounding at 0.5 s
			t.Errorf("%s: Time(%d, %v) = %v, want %v", c.name, c.i, c.y, got, c.want)
		}
	}
}

func TestBadBases(t *testing.T) {
	t.Parallel()
	make1 := func(_ *Base, err error) error { return err }
	for _, c := range []struct {
		name string
		err  error
		says string
		hint string
	}{
		{"no rate", make1(NewRate(nil, Options{})), "nothing", "rate ="},
		{"zero rate", make1(NewRate(new(big.Rat), Options{})), "not positive", "rate ="},
		{"negative rate", make1(NewRate(big.NewRat(-1, 2), Options{})), "-1/2 Hz", "rate ="},
		{"negative exposure", make1(NewRate(big.NewRat(1, 1), Options{Exposure: -1})), "exposure", "positive"},
		{"NaN row time", make1(NewRate(big.NewRat(1, 1), Options{Shutter: Shutter{RowTime: math.NaN()}})), "row time", "positive"},
		{"one stamp", make1(NewStamps(Container, rats("0"), Options{})), "1 time stamp", "two frames"},
		{"nil stamp", make1(NewStamps(Container, []*big.Rat{new(big.Rat), nil}, Options{})), "frame 1 has no", "one time per frame"},
		{"backwards", make1(NewStamps(List, rats("0", "2", "1"), Options{})), "frame 2 is stamped before frame 1", "order"},
		{"whole-second EXIF", make1(NewStamps(EXIF, rats("10", "10", "11"), Options{})), "same time", "burst rate"},
		{"basis", make1(NewStamps(Rate, rats("0", "1"), Options{})), `"rate"`, "basis is"},
		{"NaN in list", make1(NewList([]float64{0, math.NaN()}, Options{})), "time 1", "seconds"},
	} {
		var f *fault.Error
		if !errors.As(c.err, &f) || f.Kind != fault.Request || !strings.Contains(f.Message, c.says) || !strings.Contains(f.Hint, c.hint) {
			t.Errorf("%s: got %+v, want a request fault saying %q, hint %q", c.name, f, c.says, c.hint)
		}
	}
}

func TestSteps(t *testing.T) {
	t.Parallel()
	// 60 pictures a second in a container that rounds to 1 ms: 17, 16, 17 ms.
	rounded, err := NewStamps(Container, rats("0", "0.017", "0.033", "0.05", "0.067", "0.083", "0.1"),
		Options{StampU: 0.001 / math.Sqrt(12)})
	if err != nil {
		t.Fatal(err)
	}
	smallest, largest := rounded.Steps()
	if smallest.Cmp(big.NewRat(16, 1000)) != 0 || largest.Cmp(big.NewRat(17, 1000)) != 0 {
		t.Errorf("Steps() = %v, %v, want 0.016, 0.017", smallest, largest)
	}
	if !rounded.Constant() {
		t.Error("60 Hz rounded to 1 ms is not called constant")
	}
	if got := rounded.MeanStep(); got.Cmp(big.NewRat(1, 60)) != 0 {
		t.Errorf("MeanStep() = %v, want 1/60", got)
	}
	exact := *rounded
	exact.StampU = 0
	if exact.Constant() {
		t.Error("17 and 16 ms are called constant though the stamps are exact")
	}
	variable, err := NewStamps(Container, rats("0", "0.017", "0.033", "0.08", "0.1"), Options{StampU: rounded.StampU})
	if err != nil {
		t.Fatal(err)
	}
	if variable.Constant() {
		t.Error("a 47 ms gap among 17 ms steps is called constant")
	}
}

// TestContainerDurations: ISO/IEC 14496-12 stts example, five samples of 1024 ticks.
func TestContainerDurations(t *testing.T) {
	t.Parallel()
	const timescale = 48000
	var stamps []*big.Rat
	for i := range 5 {
		stamps = append(stamps, big.NewRat(int64(1024*i), timescale))
	}
	b, err := NewStamps(Container, stamps, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, ticks := range []int64{0, 1024, 2048, 3072, 4096} {
		if got := b.Stamp(i); got.Cmp(big.NewRat(ticks, timescale)) != 0 {
			t.Errorf("Stamp(%d) = %v, want %d/%d", i, got, ticks, timescale)
		}
	}
	if !b.Constant() {
		t.Error("even samples are not called constant")
	}
}

// seen returns the row at which a point that is at row start at time zero and moves at
// speed (rows/s, y down) appears in frame i: the row that is exposed just when the point
// is there. A fixed-point iteration, which converges for |speed*RowTime| < 1.
func seen(b *Base, i int, start, speed float64) float64 {
	y := start
	for range 500 {
		y = start + speed*b.Time(i, y)
	}
	return y
}

// TestRollingShutter: apparent length 1/(1 - v*row) and uncorrected speed v/(1 - v*row).
// DERIVED closed forms, not published; a differential check of Time.
func TestRollingShutter(t *testing.T) {
	t.Parallel()
	const row, rate, exact = 12.5e-6, 1000.0, 1e-9
	b, err := NewRate(big.NewRat(rate, 1), Options{Shutter: Shutter{RowTime: row}, Exposure: 1e-4})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name          string
		speed, factor float64 // rows/s, y down
	}{
		{"down, with the readout", 20000, 1 / 0.75}, // +33 %
		{"up, against the readout", -20000, 0.8},    // -20 %
		{"up, slow", -500, 1 / (1 + 500*row)},
	} {
		nose, tail := seen(b, 3, 500, c.speed), seen(b, 3, 600, c.speed)
		if got := (tail - nose) / 100; math.Abs(got-c.factor) > exact {
			t.Errorf("%s: apparent length factor = %v, want %v", c.name, got, c.factor)
		}
		next := seen(b, 4, 500, c.speed)
		if got := (next - nose) * rate / c.speed; math.Abs(got-c.factor) > exact {
			t.Errorf("%s: uncorrected speed factor = %v, want %v", c.name, got, c.factor)
		}
		if got := (next - nose) / (b.Time(4, next) - b.Time(3, nose)); math.Abs(got/c.speed-1) > exact {
			t.Errorf("%s: speed by row times = %v, want %v", c.name, got, c.speed)
		}
	}
}

func TestStampsKeepTheirOrderAndDifferences(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		steps := rapid.SliceOfN(rapid.Int64Range(1, 1<<40), 1, 30).Draw(t, "steps")
		scale := rapid.Int64Range(1, 1<<30).Draw(t, "timescale")
		at := rapid.Int64Range(-1<<40, 1<<40).Draw(t, "start")
		stamps := []*big.Rat{big.NewRat(at, scale)}
		for _, s := range steps {
			at += s
			stamps = append(stamps, big.NewRat(at, scale))
		}
		b, err := NewStamps(Container, stamps, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i := range stamps {
			if want := new(big.Rat).Sub(stamps[i], stamps[0]); b.Stamp(i).Cmp(want) != 0 {
				t.Fatalf("Stamp(%d) = %v, want %v", i, b.Stamp(i), want)
			}
		}
	})
}
