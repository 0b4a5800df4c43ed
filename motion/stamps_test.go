package motion

import (
	"context"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"padside/metrology"
	"padside/timebase"
)

// phone is a vehicle that pulls 60 m/s2 from rest, filmed at about 60 Hz by a phone whose frame
// interval swings by 10 % over a second. Each picture is taken early or late by takenU, and each
// stamp strays from that by strayU (s).
func phone(t *testing.T, seed uint64, takenU, strayU float64) Input {
	const rate, pull, noise, first = 60.0, 60.0, 1e-3, 20
	r := rand.New(rand.NewPCG(seed, 11))
	in := Input{Lane: 1, Kind: Bottle, Seed: seed, Questions: Questions{Speeds: []float64{15}, Gates: []float64{4}}}
	var stamps []*big.Rat
	at, phase, start := 0.0, 2*math.Pi*r.Float64(), 0.0
	for i := range 50 {
		if i == first {
			start = at + r.Float64()/rate
		}
		taken := at + takenU*r.NormFloat64()
		h := 0.0
		if d := taken - start; i >= first && d > 0 {
			h = pull * d * d / 2
		}
		stamp := taken + strayU*r.NormFloat64()
		stamps = append(stamps, new(big.Rat).SetFloat64(stamp))
		in.Observations = append(in.Observations, Observation{Frame: i, T: stamp, H: h + noise*r.NormFloat64(), U: noise})
		at += (1 + 0.1*math.Sin(2*math.Pi*at+phase)) / rate
	}
	b, err := timebase.NewStamps(timebase.Container, stamps, timebase.Options{})
	if err != nil {
		t.Fatal(err)
	}
	even := b.EvenTimes()
	for i := range in.Observations {
		steady := in.Observations[0].T + even.Times[i]
		in.Observations[i].Even, in.Observations[i].EvenU = &steady, even.U
	}
	return in
}

// TestStampsThatStray: whether pictures were taken at their stamps, steadily, or half of what
// stamps stray by is each, intervals of the time to 15 m/s and of the speed at 4 m hold 15/60 s and
// sqrt(2 60 4) m/s: of 30 each, at least 26 (95 % would be fewer in one of 100). Stamps that are
// true leave speeds known several times better.
func TestStampsThatStray(t *testing.T) {
	t.Parallel()
	const seeds = 15
	widths := map[string]float64{}
	for name, c := range map[string]struct{ takenU, strayU float64 }{
		"true": {2e-3, 0}, "steady": {0, 2e-3}, "both": {1.4e-3, 1.4e-3},
	} {
		held, sum := 0, 0.0
		for seed := range uint64(seeds) {
			res, err := Measure(context.Background(), phone(t, seed, c.takenU, c.strayU))
			if err != nil {
				t.Fatal(err)
			}
			for id, truth := range map[string]float64{TimeToSpeed: 0.25, GateSpeed: math.Sqrt(2 * 60 * 4)} {
				a, _ := find(t, res, id)
				if a.Status != metrology.Measured {
					t.Errorf("%s, seed %d: %s is %s: %s", name, seed, id, a.Status, a.Reason)
					continue
				}
				if a.Interval[0] <= truth && truth <= a.Interval[1] {
					held++
				}
				if id == GateSpeed {
					sum += (a.Interval[1] - a.Interval[0]) / truth / seeds
				}
			}
		}
		t.Logf("%s: %d of %d hold, speeds to %.2g %%", name, held, 2*seeds, 50*sum)
		if held < 26 {
			t.Errorf("stamps %s: %d of %d intervals hold", name, held, 2*seeds)
		}
		widths[name] = sum
	}
	if widths["true"] > widths["both"]/2 {
		t.Errorf("stamps that are true: intervals of speeds are %.2g wide, of others %.2g", widths["true"], widths["both"])
	}
}

// TestRoundedStampsStray: what stamps stray by is their rounding, and no picture was early or late.
func TestRoundedStampsStray(t *testing.T) {
	t.Parallel()
	in := phone(t, 2, 0, 2e-3)
	j := astray(in.Observations)
	for i := range in.Observations {
		in.Observations[i].UT = 1.01 * j
	}
	list := stampClocks(&in, effortFor(30))
	if len(list) != 1 || list[0].share != 1 {
		t.Errorf("%d clocks, the first of share %g; want one of 1", len(list), list[0].share)
	}
	for i := range in.Observations {
		in.Observations[i].UT = j / 2
	}
	for _, k := range stampClocks(&in, effortFor(30)) {
		if k.share < 0.25 {
			t.Errorf("a clock of share %g, rounding alone is a quarter", k.share)
		}
	}
}
