package motion

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"padside/camera"
	"padside/fault"
	"padside/flight"
	"padside/metrology"
)

// bottle is the flight that most tests film: 2 L, 0.7 L of water, 4 bar.
func bottle(t testing.TB) *flight.Flight {
	t.Helper()
	f, err := flight.Bottle{Volume: 2e-3, Water: 0.7e-3, Pressure: 4e5, NozzleDiameter: 21.5e-3, DryMass: 0.1,
		BodyDiameter: 0.11, DragCoefficient: 0.5, Site: flight.StandardSite()}.Fly()
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// film takes rest frames before first motion (plus part of one) and moving ones after it.
func film(f *flight.Flight, rate, noise float64, rest, moving int, seed uint64) Input {
	r := rand.New(rand.NewPCG(seed, 7))
	in := Input{Lane: 1, Seed: seed, SetupSeed: 99}
	phase := (float64(rest) - 0.5 + 0.4*r.Float64()) / rate
	for i := range rest + moving {
		t := float64(i) / rate
		in.Observations = append(in.Observations, Observation{Frame: i, T: t,
			H: f.At(t-phase+f.FirstMotion).Height + noise*r.NormFloat64(), U: noise})
	}
	in.Questions.Speeds, in.Questions.Gates = []float64{10, 26.8224}, []float64{0.2, 0.8}
	return in
}

func mustMeasure(t testing.TB, in Input) *Result {
	t.Helper()
	res, err := Measure(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

func find(t testing.TB, res *Result, id string) (metrology.Answer, []float64) {
	t.Helper()
	for i, a := range res.Answers {
		if a.ID == id {
			return a, res.Draws[i]
		}
	}
	t.Fatalf("no answer %s", id)
	return metrology.Answer{}, nil
}

// Every answer of the contract is there, in its unit, with value inside its interval, draws to match
// and a budget that adds up.
func TestAnswersAreWhole(t *testing.T) {
	t.Parallel()
	in := film(bottle(t), 1600, 1e-4, 30, 110, 1)
	in.Common = Common{Sources: []string{"scale"}, RateU: 1e-4, Warp: func(r, _ *rand.Rand, hold string) camera.Warp {
		e := 0.01 * r.NormFloat64()
		if hold == "scale" {
			e = 0
		}
		return camera.Warp{E: [3]float64{e}}
	}}
	res := mustMeasure(t, in)
	units := map[string]string{FirstMotion: "s", TimeToSpeed: "s", MeanAccelerationToSpeed: "m/s2", PeakSpeed: "m/s",
		PeakAcceleration: "m/s2", GateCrossing: "s", GateSpeed: "m/s", SplitSpeed: "m/s", ViewTime: "s"}
	seen := map[string]bool{}
	for i, a := range res.Answers {
		seen[a.ID] = true
		if a.Status != metrology.Measured {
			t.Errorf("%s: status %s (%s)", a.ID, a.Status, a.Reason)
			continue
		}
		if a.Unit != units[a.ID] {
			t.Errorf("%s: unit %q, want %q", a.ID, a.Unit, units[a.ID])
		}
		if n := len(res.Draws[i]); n < 4000 {
			t.Errorf("%s: %d draws, want at least 4000", a.ID, n)
		}
		if *a.Value < a.Interval[0] || *a.Value > a.Interval[1] || *a.U <= 0 {
			t.Errorf("%s: value %g, u %g, interval %v", a.ID, *a.Value, *a.U, *a.Interval)
		}
		sum := 0.0
		for _, s := range a.Budget {
			sum += s.Share
		}
		if math.Abs(sum-1) > 0.02 { // shares below 1 % may be left out
			t.Errorf("%s: shares add to %g: %v", a.ID, sum, a.Budget)
		}
	}
	for id := range units {
		if !seen[id] {
			t.Errorf("no answer %s", id)
		}
	}
	if a, _ := find(t, res, GateSpeed); a.Budget[0].Source != "scale" {
		t.Errorf("gate_speed: budget %v, want the 1 %% scale first", a.Budget)
	}
	if a, _ := find(t, res, FirstMotion); a.Budget[0].Source != traceNoise {
		t.Errorf("first_motion: budget %v, want trace noise first", a.Budget)
	}
	if len(res.History) != len(in.Observations) {
		t.Errorf("history of %d rows, want %d", len(res.History), len(in.Observations))
	}
	if h := res.History[0]; h.Height != 0 || h.Speed != 0 || h.USpeed != 0 {
		t.Errorf("history begins with %+v, want rest", h)
	}
}

// On this one flight all truths lie within four standard uncertainties: a coarse guard; how
// often the intervals hold is what bench/coverage studies.
func TestTruthIsNear(t *testing.T) {
	t.Parallel()
	f := bottle(t)
	in := film(f, 1600, 1e-4, 30, 110, 2)
	res := mustMeasure(t, in)
	r := rand.New(rand.NewPCG(2, 7))
	first := (30 - 0.5 + 0.4*r.Float64()) / 1600
	last := in.Observations[len(in.Observations)-1].T - first
	at := func(v float64) float64 { t, _ := f.SpeedReached(v); return t - f.FirstMotion }
	crossing := func(h float64) float64 { t, _ := f.HeightReached(h); return t - f.FirstMotion + first }
	_, top := f.PeakSpeed(last)
	for _, a := range res.Answers {
		var want float64
		switch a.ID {
		case FirstMotion:
			want = first
		case TimeToSpeed:
			want = at(*a.Speed)
		case MeanAccelerationToSpeed:
			want = *a.Speed / at(*a.Speed)
		case PeakSpeed:
			want = top
		case PeakAcceleration:
			_, want = f.PeakAcceleration(*a.Window, last)
		case GateCrossing:
			want = crossing(*a.Height)
		case GateSpeed:
			want = f.At(crossing(*a.Height) - first).Speed
		case SplitSpeed:
			want = (*a.To - *a.From) / (crossing(*a.To) - crossing(*a.From))
		case ViewTime:
			want = last
		}
		if math.Abs(*a.Value-want) > 4*(*a.U) {
			t.Errorf("%s: value %g (u %g), truth %g", a.ID, *a.Value, *a.U, want)
		}
	}
}

func TestStatus(t *testing.T) {
	t.Parallel()
	f := bottle(t)
	t.Run("not reached", func(t *testing.T) {
		t.Parallel()
		in := film(f, 1600, 1e-4, 20, 60, 6)
		in.Questions.Speeds, in.Questions.Gates = []float64{300}, []float64{50}
		res := mustMeasure(t, in)
		for _, id := range []string{TimeToSpeed, MeanAccelerationToSpeed, GateCrossing, GateSpeed} {
			a, draws := find(t, res, id)
			if a.Status != metrology.NotReached || a.Value != nil || a.Interval != nil || draws != nil || a.Reason == "" {
				t.Errorf("%s: %+v, want not-reached without a value, with a reason", id, a)
			}
		}
	})
	t.Run("nothing moves", func(t *testing.T) {
		t.Parallel()
		in := film(f, 1600, 1e-4, 40, 0, 6)
		for _, a := range mustMeasure(t, in).Answers {
			if a.Status != metrology.Insufficient || a.Reason == "" {
				t.Errorf("%s: status %s (%q), want insufficient", a.ID, a.Status, a.Reason)
			}
		}
	})
	t.Run("two moving frames", func(t *testing.T) {
		t.Parallel()
		in := film(f, 200, 1e-4, 10, 3, 6)
		for _, a := range mustMeasure(t, in).Answers {
			if a.Status != metrology.Insufficient {
				t.Errorf("%s: status %s, want insufficient", a.ID, a.Status)
			}
		}
	})
	t.Run("still accelerating", func(t *testing.T) {
		t.Parallel()
		if res := mustMeasure(t, film(f, 1600, 1e-4, 20, 60, 6)); !warned(res, "still-accelerating") {
			t.Errorf("warnings %v, want still-accelerating", res.Warnings)
		}
	})
	t.Run("moving from the first frame", func(t *testing.T) {
		t.Parallel()
		in := film(f, 1600, 1e-4, 20, 100, 6)
		in.Observations = in.Observations[80:]
		res := mustMeasure(t, in)
		a, _ := find(t, res, FirstMotion)
		if a.Status == metrology.Measured {
			t.Errorf("first_motion measured at %g without a word, the footage beginning 37 ms later", *a.Value)
		}
		if !warned(res, "first-motion-before-footage") {
			t.Errorf("warnings %v, want one about first motion", res.Warnings)
		}
		if p, _ := find(t, res, PeakSpeed); p.Status != metrology.Measured {
			t.Errorf("peak_speed: status %s, want measured", p.Status)
		}
	})
}

func warned(res *Result, code string) bool {
	for _, w := range res.Warnings {
		if w.Code == code {
			return true
		}
	}
	return false
}

func TestBadInputIsRefused(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(*Input){
		"no frame":        func(in *Input) { in.Observations = nil },
		"NaN height":      func(in *Input) { in.Observations[3].H = math.NaN() },
		"infinite time":   func(in *Input) { in.Observations[3].T = math.Inf(1) },
		"no uncertainty":  func(in *Input) { in.Observations[3].U = 0 },
		"time backwards":  func(in *Input) { in.Observations[3].T = in.Observations[2].T },
		"falling speeds":  func(in *Input) { in.Questions.Speeds = []float64{10, 5} },
		"gate at zero":    func(in *Input) { in.Questions.Gates = []float64{0} },
		"negative window": func(in *Input) { in.Questions.Window = -1 },
		"rate unknown":    func(in *Input) { in.Common.RateU = 2 },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			in := film(bottle(t), 1600, 1e-4, 10, 20, 1)
			spoil(&in)
			_, err := Measure(context.Background(), in)
			var fe *fault.Error
			if !errors.As(err, &fe) || fe.Hint == "" || strings.Contains(fe.Message, "\n") {
				t.Errorf("got error %v, want a fault with a hint", err)
			}
		})
	}
}

func TestCancelled(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Measure(ctx, film(bottle(t), 1600, 1e-4, 10, 40, 1)); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want context.Canceled", err)
	}
}

// Common practice, no source: 5 m in three frame intervals at 8.5 per second is 14.2 m/s; 60 mph
// in 0.375 s is 7.3 g on average, in 0.050 s 54.7 g.
func TestCommonPractice(t *testing.T) {
	t.Parallel()
	line := func(v float64) reading {
		p := &path{t0: 0, end: math.Inf(1), knots: []knot{{0, vec{v: v}}, {1, vec{h: v, v: v}}}}
		var r reading
		r.reset(p, truth{clock: 1})
		return r
	}
	in := Input{Observations: []Observation{{T: 0}, {T: 1}}, Questions: Questions{Gates: []float64{1, 6}}}
	v := 5 / (3 / 8.5)
	r := line(v)
	for _, q := range questions(&in, 0) {
		if q.answer.ID == SplitSpeed {
			if got := q.read(&r, place{}); math.Abs(got-14.2) > 0.05 {
				t.Errorf("5 m in three intervals at 8.5 per second: %.2f m/s, want 14.2", got)
			}
		}
	}
	const mph60, g = 26.8224, 9.80665
	for _, c := range []struct{ time, gs float64 }{{0.375, 7.3}, {0.050, 54.7}} {
		a := mph60 / c.time
		p := &path{t0: 0, end: math.Inf(1), knots: []knot{{0, vec{a: a}}, {1, vec{a / 2, a, a, 0}}}}
		var r reading
		r.reset(p, truth{clock: 1})
		if got := r.timeToSpeed(mph60); math.Abs(got-c.time) > 1e-9 {
			t.Errorf("time to 60 mph = %g, want %g", got, c.time)
		}
		if got := mph60 / r.timeToSpeed(mph60) / g; math.Abs(got-c.gs) > 0.05 {
			t.Errorf("60 mph in %g s: %.2f g, want %g", c.time, got, c.gs)
		}
	}
}
