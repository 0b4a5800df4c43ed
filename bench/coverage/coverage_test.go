package main

import (
	"testing"

	"padside/metrology"
	"padside/motion"
)

// A reduced study, so that a change that spoils the intervals is seen at once: 40 traces of
// two classes. With a true coverage of 95 % fewer than 33 of 40 happens with a
// probability of 0.1 % (binomial); the real figures are those of the program.
func TestIntervalsHold(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("a study of many traces")
	}
	const traces, least = 40, 33
	for i, c := range classes() {
		if c.name != "bottle 1600 fps, 0.1 mm" && c.name != "clip 30 fps" {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			tallies, err := study(c, plan{number: uint64(i) + 100, traces: traces, workers: 2})
			if err != nil {
				t.Fatal(err)
			}
			for _, id := range [...]string{motion.FirstMotion, motion.TimeToSpeed, motion.PeakSpeed, motion.GateCrossing} {
				tl := tallies[id]
				silent := tl.silent[metrology.Insufficient] + tl.silent[metrology.NotReached]
				if tl.held+silent < least {
					t.Errorf("%s: %d of %d intervals hold the truth, want at least %d of %d", id, tl.held, tl.traces, least, traces)
				}
				if silent > traces/10 {
					t.Errorf("%s: no value in %d of %d traces", id, silent, traces)
				}
			}
		})
	}
}
