package motion

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"padside/metrology"
)

// countsFromRest are the answers that count from first motion or from the place at rest.
var countsFromRest = map[string]bool{FirstMotion: true, TimeToSpeed: true, MeanAccelerationToSpeed: true, GateCrossing: true, GateSpeed: true, SplitSpeed: true, ViewTime: true}

// Footage that begins in flight: what counts from rest is insufficient, and the peaks within the
// footage hold those of the flight there, as the flight's own integration has them.
func TestCutInFlight(t *testing.T) {
	t.Parallel()
	f := bottle(t)
	for _, cut := range []int{45, 60, 80} {
		in := film(f, 1600, 1e-4, 20, 100, 6)
		in.Questions.Speeds, in.Questions.Gates = []float64{15, 25}, []float64{0.5, 1}
		first := in.Observations[cut].T
		shift := f.FirstMotion - filmedFirst(20, 1600, 6)
		in.Observations = in.Observations[cut:]
		last := in.Observations[len(in.Observations)-1].T
		res := mustMeasure(t, in)
		if !warned(res, "first-motion-before-footage") {
			t.Errorf("cut at %d: warnings %v, want first-motion-before-footage", cut, res.Warnings)
		}
		for _, a := range res.Answers {
			switch {
			case countsFromRest[a.ID]:
				if a.Status != metrology.Insufficient || !strings.Contains(a.Reason, "moves in the first frame already") {
					t.Errorf("cut at %d: %s is %s (%q), want insufficient, for it moves in the first frame", cut, a.ID, a.Status, a.Reason)
				}
			case a.ID == PeakSpeed:
				holds(t, a, f.At(last+shift).Speed)
			case a.ID == PeakAcceleration:
				best := 0.0
				for s := first; s+*a.Window <= last; s += 1e-4 {
					best = math.Max(best, (f.At(s+*a.Window+shift).Speed-f.At(s+shift).Speed) / *a.Window)
				}
				holds(t, a, best)
			}
		}
		for _, s := range res.History {
			if s.T < first {
				t.Errorf("cut at %d: the history begins at %g s, before the footage", cut, s.T)
			}
		}
	}
}

// holds checks that an answer's interval, widened by half of itself for what one trace may miss by,
// holds the truth.
func holds(t *testing.T, a metrology.Answer, truth float64) {
	t.Helper()
	if a.Status != metrology.Measured {
		t.Errorf("%s: %s, want %g measured", a.ID, a.Reason, truth)
		return
	}
	if w := (a.Interval[1] - a.Interval[0]) / 2; truth < a.Interval[0]-w || truth > a.Interval[1]+w {
		t.Errorf("%s: %g, %g to %g, want %g", a.ID, *a.Value, a.Interval[0], a.Interval[1], truth)
	}
}

// A body that flies through the picture evenly, 15 frames at 30000 per second: its speed is known,
// its acceleration is none, and its peak speed is that.
func TestUniformMotion(t *testing.T) {
	t.Parallel()
	const speed, u = 79.417, 3e-5
	for seed := range uint64(6) {
		r := rand.New(rand.NewPCG(seed, 5))
		in := Input{Lane: 1, Seed: seed, Questions: Questions{Speeds: []float64{40}}}
		for i := range 15 {
			at := float64(i) / 30000
			in.Observations = append(in.Observations, Observation{Frame: i, T: at, H: speed*at + u*r.NormFloat64(), U: u})
		}
		res := mustMeasure(t, in)
		p, _ := find(t, res, PeakSpeed)
		holds(t, p, speed)
		a, _ := find(t, res, PeakAcceleration)
		holds(t, a, 0)
		for _, a := range res.Answers {
			if countsFromRest[a.ID] && a.Status != metrology.Insufficient {
				t.Errorf("seed %d: %s is %s, want insufficient", seed, a.ID, a.Status)
			}
		}
	}
}

// filmedFirst is first motion in what film draws.
func filmedFirst(rest int, rate float64, seed uint64) float64 {
	return (float64(rest) - 0.5 + 0.4*rand.New(rand.NewPCG(seed, 7)).Float64()) / rate
}

// Footage from rest is not taken for one that begins in flight, even with three frames at rest.
func TestFewFramesAtRest(t *testing.T) {
	t.Parallel()
	for _, rest := range []int{3, 8, 30} {
		a, _ := find(t, mustMeasure(t, film(bottle(t), 1600, 1e-4, rest, 80, 3)), FirstMotion)
		holds(t, a, filmedFirst(rest, 1600, 3))
	}
}

// A vehicle in even motion gains no speed: where it happens to be fastest in the last frame, as far
// as noise lets one tell, nothing else is said.
func TestEvenMotionIsNotSaidToGainSpeed(t *testing.T) {
	t.Parallel()
	warnings := 0
	for seed := range uint64(6) {
		r := rand.New(rand.NewPCG(seed, 12))
		in := Input{Lane: 1, Seed: seed}
		for i := range 60 {
			at := float64(i) / 240
			in.Observations = append(in.Observations, Observation{Frame: i, T: at, H: 8*at + 1e-3*r.NormFloat64(), U: 1e-3})
		}
		for _, w := range mustMeasure(t, in).Warnings {
			if w.Code == "still-accelerating" {
				warnings++
				if strings.Contains(w.Message, "still gains speed in the last frame:") || !strings.Contains(w.Message, "% of the possible motions") {
					t.Errorf("seed %d: %s", seed, w.Message)
				}
			}
		}
	}
	if warnings == 0 {
		t.Error("none of six is fastest in the last frame: the test shows nothing")
	}
}

// A vehicle that slows from the first frame on was faster before, as far as the footage tells: its
// peak speed is at least that in view. So it is where speed is gained to the last frame; a peak
// within the footage is no bound.
func TestPeakAtTheEdge(t *testing.T) {
	t.Parallel()
	coast := Input{Lane: 1, Seed: 4}
	r := rand.New(rand.NewPCG(4, 4))
	for i := range 40 {
		at := float64(i) / 240
		coast.Observations = append(coast.Observations, Observation{Frame: i, T: at, H: 30*at - 12*at*at + 1e-3*r.NormFloat64(), U: 1e-3})
	}
	f := bottle(t)
	for name, c := range map[string]struct {
		in    Input
		bound metrology.Bound
		code  string
	}{
		"slowing": {coast, metrology.Lower, "slowing-from-the-start"},
		"gaining": {film(f, 1600, 1e-4, 20, 60, 6), metrology.Lower, "still-accelerating"},
		"whole":   {film(f, 1600, 1e-4, 20, 250, 6), "", ""},
	} {
		res := mustMeasure(t, c.in)
		if p, _ := find(t, res, PeakSpeed); p.Bound != c.bound || p.Status != metrology.Measured {
			t.Errorf("%s: peak speed %s, bound %q, want %q", name, p.Status, p.Bound, c.bound)
		}
		pulled := metrology.Bound("") // whatever was pulled before the footage of what is under way was not seen
		if name == "slowing" {
			pulled = metrology.Lower
		}
		if p, _ := find(t, res, PeakAcceleration); p.Bound != pulled {
			t.Errorf("%s: peak acceleration with bound %q, want %q", name, p.Bound, pulled)
		}
		if c.code != "" && !warned(res, c.code) {
			t.Errorf("%s: warnings %v, want %s", name, res.Warnings, c.code)
		}
	}
}
