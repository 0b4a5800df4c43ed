package motion

import "math/rand/v2"

// Names in the budget that are not of Common.Sources.
const (
	traceNoise = "trace noise"
	timeBase   = "time base"
)

// sources names the parts of the budget.
func (in *Input) sources() []string {
	s := append([]string(nil), in.Common.Sources...)
	s = append(s, in.Common.DelaySources...)
	if in.Common.RateU > 0 {
		s = append(s, timeBase)
	}
	return append(s, traceNoise)
}

// truth draws the common errors. What the setup shares depends in draw i on the setup's seed and i alone, so that
// launches of one setup see the same truth draw by draw; a flight's lean is the launch's own.
func (in *Input) truth(i int, hold string) truth {
	t := truth{clock: 1}
	if in.Common.Delay != nil {
		t.delay = in.Common.Delay(stream(in.SetupSeed^0x726f7773, uint64(i)), hold)
	}
	setup, launch := stream(in.SetupSeed, 2*uint64(i)), stream(in.Seed^0x6c65616e, uint64(i))
	switch {
	case in.Common.WarpAt != nil:
		t.warp = in.Common.WarpAt(t.delay, setup, launch, hold)
	case in.Common.Warp != nil:
		t.warp = in.Common.Warp(setup, launch, hold)
	}
	if in.Common.RateU > 0 && hold != timeBase {
		t.clock += in.Common.RateU * stream(in.SetupSeed, 2*uint64(i)+1).NormFloat64()
	}
	return t
}

// truthOf draws them for a motion by one clock.
func (in *Input) truthOf(by evenClock, i int, hold string) truth {
	t := in.truth(i, hold)
	by.draw(&t, stream(in.Seed^0x6576656e, uint64(i)))
	return t
}

// stream returns the random source of number n under a seed; neighbouring numbers give
// unrelated streams (SplitMix64 finaliser; Steele et al., OOPSLA 2014, from memory).
func stream(seed, n uint64) *rand.Rand {
	mix := func(z uint64) uint64 {
		z += 0x9e3779b97f4a7c15
		z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
		z = (z ^ z>>27) * 0x94d049bb133111eb
		return z ^ z>>31
	}
	a := mix(seed)
	return rand.New(rand.NewPCG(mix(a^n), mix(a+2*n+1)))
}
