package motion

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"padside/metrology"
)

// lossyCamera is a vehicle that pulls 90 m/s2 from rest, filmed at 240 Hz by a camera that loses frames 60
// and 61 and stores frame 75 in place of 76, while its stamps go on evenly: heights with 1 mm of noise.
func lossyCamera(seed uint64) (in Input, start float64) {
	const rate, pull, noise = 240.0, 90.0, 1e-3
	r := rand.New(rand.NewPCG(seed, 1))
	start = (40 + r.Float64()) / rate
	in = Input{Lane: 1, Kind: Bottle, Interval: 1 / rate, Seed: seed, Questions: Questions{Speeds: []float64{20}}}
	taken := 0 // frame of the camera
	for i := range 110 {
		switch taken {
		case 60:
			taken += 2
		case 76:
			last := in.Observations[i-1]
			in.Observations = append(in.Observations, Observation{Frame: i, T: float64(i) / rate, H: last.H, U: noise})
			taken++
			continue
		}
		t := max(float64(taken)/rate-start, 0)
		in.Observations = append(in.Observations, Observation{Frame: i, T: float64(i) / rate, H: pull*t*t/2 + noise*r.NormFloat64(), U: noise})
		taken++
	}
	return in, start
}

// TestLostFramesAreFound: the motion shows where frames are missing and which repeats another, and the
// time to 20 m/s holds its truth, 20/90 s. By the stamps alone it is outside its interval.
func TestLostFramesAreFound(t *testing.T) {
	t.Parallel()
	in, _ := lossyCamera(3)
	s := newSeries(in.Observations, &in)
	c := newClocks(&in, s, effortFor(60))
	best := c.search()[0]
	if len(best.slips) != 2 || best.slips[0].lost != 2 || best.slips[1].stale != 1 {
		t.Errorf("slips %v, want two lost before frame 60 and one repeat in frame 74", best.slips)
	}
	if at := best.slips[0].at; at != 60 {
		t.Errorf("frames lost before frame %d, want 60", at)
	}
	toSpeed := func(in Input) metrology.Answer {
		res, err := Measure(context.Background(), in)
		if err != nil {
			t.Fatal(err)
		}
		a, _ := find(t, res, TimeToSpeed)
		return a
	}
	const truth = 20.0 / 90
	holds := func(a metrology.Answer) bool {
		return a.Status == metrology.Measured && a.Interval[0] <= truth && truth <= a.Interval[1]
	}
	if a := toSpeed(in); !holds(a) {
		t.Errorf("time to 20 m/s %v, want %g", a.Interval, truth)
	}
	in.Interval = 0
	if a := toSpeed(in); holds(a) && a.Interval[1]-a.Interval[0] < 0.01 {
		t.Errorf("by the stamps alone the interval %v holds %g: the lost frames make no difference", a.Interval, truth)
	}
}

// TestNoSlipsAreSeen: footage that lost nothing keeps its stamps.
func TestNoSlipsAreSeen(t *testing.T) {
	t.Parallel()
	const rate, pull, noise = 240.0, 90.0, 1e-3
	for seed := range uint64(5) {
		r := rand.New(rand.NewPCG(seed, 2))
		in := Input{Lane: 1, Interval: 1 / rate}
		for i := range 100 {
			t := max((float64(i)-40.3)/rate, 0)
			in.Observations = append(in.Observations, Observation{Frame: i, T: float64(i) / rate, H: pull*t*t/2 + noise*r.NormFloat64(), U: noise})
		}
		s := newSeries(in.Observations, &in)
		if list := newClocks(&in, s, effortFor(60)).search(); len(list[0].slips) > 0 {
			t.Errorf("seed %d: slips %v in footage without any", seed, list[0].slips)
		}
	}
}

// TestSlippedTimes: one lost frame before observation 2, then one that repeats another, by hand.
func TestSlippedTimes(t *testing.T) {
	t.Parallel()
	obs := []Observation{{T: 0}, {T: 1}, {T: 2}, {T: 3}, {T: 4}}
	got := slipped(obs, []slip{{at: 2, lost: 1}, {at: 3, lost: -1, stale: 1}}, 0, 1)
	for i, want := range []float64{0, 1, 3, 3 + repeatStep, 4} {
		if math.Abs(got[i].T-want) > 1e-12 {
			t.Errorf("observation %d at %g, want %g", i, got[i].T, want)
		}
	}
	if got := slipped(obs, []slip{{at: 2, lost: 1}}, 3, 1); got[0].T != -1 || got[3].T != 3 {
		t.Errorf("times %v do not agree with the stamps at observation 3", got)
	}
}

// TestNoSlipsInATremble: a hand that trembles before it lets go is no camera that loses frames.
func TestNoSlipsInATremble(t *testing.T) {
	t.Parallel()
	const rate, noise = 120.0, 0.5e-3
	r := rand.New(rand.NewPCG(6, 6))
	in := Input{Lane: 1, Kind: Dropped, Interval: 1 / rate}
	for i := range 180 {
		at := float64(i) / rate
		h := 8e-3 * math.Sin(2*math.Pi*1.7*at) * math.Sin(2*math.Pi*0.6*at)
		if fall := at - 110.4/rate; fall > 0 {
			h += 4.9 * fall * fall
		}
		in.Observations = append(in.Observations, Observation{Frame: i, T: at, H: h + noise*r.NormFloat64(), U: noise})
	}
	s := newSeries(in.Observations, &in)
	for _, k := range newClocks(&in, s, effortFor(60)).search() {
		for _, slip := range k.slips {
			if slip.at < 100 {
				t.Errorf("slips %v, before the fall", k.slips)
			}
		}
	}
}

// TestClocksCountOnce: a clock that two searches came upon is one hypothesis.
func TestClocksCountOnce(t *testing.T) {
	t.Parallel()
	one := clock{slips: []slip{{at: 4, lost: 1}}, gain: 2}
	again, other := one, clock{slips: []slip{{at: 5, lost: 1}}, gain: 1}
	again.gain = 2.5 // a group's
	list := probable(clock{gain: 0}, []clock{one, other, again}, 4)
	if len(list) != 3 || list[0].gain != 2.5 || list[1].gain != 1 {
		t.Errorf("clocks %+v", list)
	}
}

// TestPicturesPutInThatWereLeftOut: the camera puts a picture in a second time at frame 70, and the
// trace leaves it out: what comes after is late by an interval. The clock is found, and the name of
// the frame.
func TestPicturesPutInThatWereLeftOut(t *testing.T) {
	t.Parallel()
	const rate, pull, noise = 240.0, 90.0, 1e-3
	for seed := range uint64(4) {
		r := rand.New(rand.NewPCG(seed, 13))
		in := Input{Lane: 1, Kind: Bottle, Interval: 1 / rate}
		for i := range 110 {
			taken := i
			if i == 70 {
				continue
			}
			if i > 70 {
				taken--
			}
			t := max(float64(taken)-40.4, 0) / rate
			in.Observations = append(in.Observations, Observation{Frame: i, T: float64(i) / rate, H: pull*t*t/2 + noise*r.NormFloat64(), U: noise})
		}
		best := newClocks(&in, newSeries(in.Observations, &in), effortFor(60)).search()[0]
		if len(best.slips) != 1 || best.slips[0] != (slip{at: 70, lost: -1}) {
			t.Errorf("seed %d: slips %v, want one picture put in before observation 70", seed, best.slips)
			continue
		}
		if name := best.slips[0].named(best.obs); !strings.HasPrefix(name, "frame 70 repeats the one before") {
			t.Errorf("it is called %q", name)
		}
	}
}

// TestLastFrameRepeats: of few frames too the last may repeat the one before, where the vehicle
// does not stop.
func TestLastFrameRepeats(t *testing.T) {
	t.Parallel()
	const rate, pull, noise = 120.0, 350.0, 0.3e-3
	r := rand.New(rand.NewPCG(1, 14))
	in := Input{Lane: 1, Kind: Bottle, Interval: 1 / rate}
	for i := range 23 {
		t := max(float64(min(i, 21))-14.6, 0) / rate
		in.Observations = append(in.Observations, Observation{Frame: i, T: float64(i) / rate, H: pull*t*t/2 + noise*r.NormFloat64(), U: noise})
	}
	best := newClocks(&in, newSeries(in.Observations, &in), effortFor(8)).search()[0]
	if len(best.slips) != 1 || best.slips[0].at != 22 || best.slips[0].stale != 1 {
		t.Errorf("slips %v, want a repeat in frame 22", best.slips)
	}
}
