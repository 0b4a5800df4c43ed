package motion

import (
	"math"
	"math/rand/v2"
	"testing"
)

// clumsyCamera drops a ball, 9.8 m/s2, before a camera of 480 Hz that loses single frames at the
// frames named while its stamps go on evenly: heights with noise (m).
func clumsyCamera(seed uint64, noise float64, lost []int) Input {
	const rate, pull = 480.0, 9.8
	r := rand.New(rand.NewPCG(seed, 12))
	in := Input{Lane: 1, Kind: Dropped, Interval: 1 / rate, Seed: seed}
	taken := 0
	for i := range 230 {
		for _, k := range lost {
			if k == i {
				taken++
			}
		}
		t := math.Max(float64(taken)-40.4, 0) / rate
		in.Observations = append(in.Observations, Observation{Frame: i, T: float64(i) / rate, H: pull*t*t/2 + noise*r.NormFloat64(), U: noise})
		taken++
	}
	return in
}

// TestManyLostFrames: of eight lost frames each alone explains less than it costs, for the motion
// bends to what the others leave; together they explain most. The clock that is found is more
// probable than no slips, and the times of fast frames come more than half of the way to where they
// were.
func TestManyLostFrames(t *testing.T) {
	t.Parallel()
	const noiseU = 1e-3
	lost := []int{110, 125, 141, 150, 163, 178, 190, 207}
	for seed := range uint64(6) {
		in := clumsyCamera(seed, noiseU, lost)
		c := newClocks(&in, newSeries(in.Observations, &in), effortFor(200))
		alone := math.Inf(-1)
		for _, k := range c.more(clock{obs: in.Observations}) {
			alone = math.Max(alone, k.gain)
		}
		best := c.search()[0]
		passed := best.obs[220].T - best.obs[60].T - 160/480.0
		t.Logf("seed %d: the best alone %.1f, found %d slips, %.1f intervals, %.1f", seed, alone, len(best.slips), passed*480, best.gain)
		if passed < 4.5/480 || passed > 9.5/480 {
			t.Errorf("seed %d: %.1f intervals are missing, want 8", seed, passed*480)
		}
	}
}

// TestLossesAreCountedOnce: a camera of unknown rate of losses, by hand: with one node at rate r it
// would be r^n exp(-r steps); over all sets of losses at different steps the probabilities add up
// to one, as far as single losses go.
func TestLossesAreCountedOnce(t *testing.T) {
	t.Parallel()
	const steps = 60
	var sum, ways float64
	ways = 1
	for n := range 40 {
		sum += ways * math.Exp(logLosses(n, steps))
		ways *= float64(steps) / float64(n+1) // of a Poisson process: steps^n/n!
	}
	if math.Abs(sum-1) > 1e-6 {
		t.Errorf("probabilities of all losses add up to %g", sum)
	}
}
