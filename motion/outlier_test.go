package motion

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"padside/flight"
	"padside/metrology"
)

// Mistraced frames, alone or up to four in a row, are named and do not move the answers.
func TestMistracedFramesAreSetAside(t *testing.T) {
	t.Parallel()
	in := film(bottle(t), 1600, 1e-4, 30, 80, 8)
	good := mustMeasure(t, in)
	if warned(good, "frames-off-path") {
		t.Errorf("a clean trace is warned about: %v", good.Warnings)
	}
	for name, c := range map[string]struct {
		off   map[int]float64 // m, by frame
		named []string
	}{
		"two lone ones":    {map[int]float64{70: 3e-3, 12: -3e-3}, []string{"70", "12"}},
		"two in a row":     {map[int]float64{60: 4e-3, 61: 5e-3}, []string{"60 to 61"}},
		"three in a row":   {map[int]float64{80: -2e-3, 81: -3e-3, 82: -3e-3}, []string{"80 to 82"}},
		"four, and a lone": {map[int]float64{50: 5e-3, 51: 5e-3, 52: 6e-3, 53: 5e-3, 90: 2e-3}, []string{"50 to 53", "90"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			bad := in
			bad.Observations = append([]Observation(nil), in.Observations...)
			for i, off := range c.off {
				bad.Observations[i].H += off
			}
			res := mustMeasure(t, bad)
			for _, frame := range c.named {
				if !warned(res, "frames-off-path") || !strings.Contains(res.Warnings[0].Message, frame) {
					t.Errorf("warnings %v, want frames %s named", res.Warnings, frame)
				}
			}
			sameAnswers(t, good, res)
		})
	}
}

// sameAnswers checks that the answers agree within 1.5 standard uncertainties.
func sameAnswers(t *testing.T, good, bad *Result) {
	t.Helper()
	for i, a := range good.Answers {
		b := bad.Answers[i]
		if a.ID == PeakAcceleration || a.Value == nil { // its window may differ
			continue
		}
		if b.Value == nil {
			t.Errorf("%s: %s (%s) with mistraced frames", a.ID, b.Status, b.Reason)
			continue
		}
		if math.Abs(*a.Value-*b.Value) > 1.5*(*a.U) {
			t.Errorf("%s: %g with mistraced frames, %g without (u %g)", a.ID, *b.Value, *a.Value, *a.U)
		}
	}
}

// Clean traces lose no frame, though thrust begins, and ends, at once.
func TestNothingIsSetAsideWithoutReason(t *testing.T) {
	t.Parallel()
	for seed := range uint64(20) {
		in := film(bottle(t), 1600, 1e-4, 30, 110, 100+seed)
		s := newSeries(in.Observations, &in)
		if _, warn := setOutliersAside(&in, s, effortFor(len(in.Observations)-s.move)); len(warn) > 0 {
			t.Errorf("trace %d: %v", seed, warn)
		}
	}
}

// Stills whose stamps are rounded to 20 ms: with that stated as UT the intervals hold the truth. 95 % of
// 16 is 15; fewer than 13 have a probability of 0.7 % (binomial).
func TestRoundedTimes(t *testing.T) {
	t.Parallel()
	const bursts, least, round = 16, 13, 20e-3
	f, err := flight.Motor{Thrust: []flight.ThrustPoint{{}, {Time: 0.03, Force: 14}, {Time: 1.4, Force: 10}, {Time: 1.5}},
		PropellantMass: 0.012, DryMass: 0.1, BodyDiameter: 0.04, DragCoefficient: 0.5, Site: flight.StandardSite()}.Fly()
	if err != nil {
		t.Fatal(err)
	}
	held := map[string]int{}
	for seed := range uint64(bursts) {
		in := film(f, 15, 5e-3, 6, 12, seed)
		r := rand.New(rand.NewPCG(seed, 7))
		first := (6 - 0.5 + 0.4*r.Float64()) / 15
		for i := range in.Observations {
			o := &in.Observations[i]
			o.T, o.UT = math.Round(o.T/round)*round, round/math.Sqrt(12)
		}
		in.Questions.Speeds, in.Questions.Gates = []float64{15}, []float64{4}
		crossing, _ := f.HeightReached(4)
		speed, _ := f.SpeedReached(15)
		truth := map[string]float64{FirstMotion: first, GateCrossing: crossing - f.FirstMotion + first, TimeToSpeed: speed - f.FirstMotion}
		for _, a := range mustMeasure(t, in).Answers {
			if want, ok := truth[a.ID]; ok && (a.Status != metrology.Measured || a.Interval[0] <= want && want <= a.Interval[1]) {
				held[a.ID]++
			}
		}
	}
	for _, id := range []string{FirstMotion, GateCrossing, TimeToSpeed} {
		if held[id] < least {
			t.Errorf("%s: %d of %d intervals hold the truth, want at least %d", id, held[id], bursts, least)
		}
	}
}
