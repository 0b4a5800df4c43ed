package shoot

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"padside/metrology"
	"padside/motion"
	"padside/trace"
)

// simulatedTake is one take of the club's shoot whose errors are of a quantile of what is usual.
func simulatedTake(t *testing.T, quantile float64, seed uint64) motion.Input {
	t.Helper()
	s := clubDay(Question{Answer: "gate_speed", Height: 1, Within: 0.05})
	o, err := s.option(s.Cameras[0], s.Cameras[0].Modes[0])
	if err != nil {
		t.Fatal(err)
	}
	in, err := s.simulate(o, simulated{phase: 0.5, doubt: quantile}, rand.New(rand.NewPCG(seed, 1)))
	if err != nil {
		t.Fatal(err)
	}
	return in
}

// What a second reference usually shows is stated of frames in flight, and of those at rest together, as a trace states it; it is not part of what each
// frame errs by itself.
func TestForecastStatesCorrelatedError(t *testing.T) {
	t.Parallel()
	little, much := simulatedTake(t, -1.5, 1), simulatedTake(t, 1.5, 1)
	last := len(much.Observations) - 1
	if d := much.Observations[0].DoubtU; d != 0 {
		t.Errorf("%g m at rest, want none", d)
	}
	small, large := little.Observations[last].DoubtU, much.Observations[last].DoubtU
	if want := math.Exp(3 * 1.5); large < 10*small || large > 1.01*want*small {
		t.Errorf("stated %g and %g m three standard deviations apart, want a factor from 10 to %.0f", small, large, want)
	}
	if little.Observations[last].U != much.Observations[last].U {
		t.Errorf("own uncertainties %g and %g differ", little.Observations[last].U, much.Observations[last].U)
	}
	if much.RestU < 3*little.RestU {
		t.Errorf("errors at rest %g and %g m, want larger ones", little.RestU, much.RestU)
	}
}

// The heights err by it: they lie off by as much as is stated, within a factor of two over 60 takes (the sizes supposed have a root mean square of 1.5,
// derived from their odds).
func TestForecastErrsTogether(t *testing.T) {
	t.Parallel()
	const takes = 60
	var square, n float64
	for seed := range uint64(takes) {
		with, without := simulatedTake(t, 1.5, seed), simulatedTake(t, -6, seed)
		for i, o := range with.Observations {
			if o.DoubtU > 0.9*with.Observations[len(with.Observations)-1].DoubtU {
				x := (o.H - without.Observations[i].H) / o.DoubtU
				square, n = square+x*x, n+1
			}
		}
	}
	if off := math.Sqrt(square / n); off < 0.75 || off > 3 {
		t.Errorf("heights lie off by %.2f of what is stated, want 0.75 to 3", off)
	}
}

// The quantiles are even in probability over the takes foreseen, each once.
func TestDoubtsOfTakesAreEven(t *testing.T) {
	t.Parallel()
	seen := map[int]bool{}
	for k := range foreseen {
		part := math.Erfc(-doubtOf(k)/math.Sqrt2) / 2 // the standard normal distribution
		seen[int(part*foreseen)] = true
	}
	if len(seen) != foreseen {
		t.Errorf("%d of %d parts are taken", len(seen), foreseen)
	}
	if doubt, _ := trace.Usual(0, 0); doubt < 0.02 || doubt > 0.03 {
		t.Errorf("the middle trace states %g px", doubt)
	}
}

// A vehicle that moves by most of its length from picture to picture may be lost in a clip, so that what is asked is not promised; by more than that
// in a burst it mostly is, and there is no answer.
func TestLeaps(t *testing.T) {
	t.Parallel()
	ask := Question{Answer: "split_speed", From: 0.5, To: 1, Within: 0.5}
	for name, c := range map[string]struct {
		length, rate float64
		burst        *Burst
		want         Verdict
	}{
		"short steps": {0.42, 240, nil, Yes},
		"long steps":  {0.12, 240, nil, Marginal},
		"burst":       {0.12, 120, &Burst{Frames: 60}, No},
	} {
		s := clubDay(ask)
		s.Expected.Length, s.Cameras[0].Burst = c.length, c.burst
		s.Cameras[0].Modes[0].Rate = c.rate
		_, f := forecast(t, s)
		if f.Verdict != c.want {
			t.Errorf("%s: %s, %s; want %s", name, f.Verdict, f.Reason, c.want)
		}
		if c.want == No && !strings.Contains(f.Reason, "own lengths from picture to picture") {
			t.Errorf("%s: the reason is %q", name, f.Reason)
		}
	}
}

// A highest speed is judged up to where the vehicle was followed. One that is but a bound because the vehicle was lost before it left the view does not
// answer what was planned.
func TestPeaksAreJudgedAsFarAsFollowed(t *testing.T) {
	t.Parallel()
	s := clubDay(Question{Answer: "peak_speed", Within: 0.05})
	o, err := s.option(s.Cameras[0], s.Cameras[0].Modes[0])
	if err != nil {
		t.Fatal(err)
	}
	f := s.Film(o, 1)
	first := int(f.start * f.Take.Hz)
	at := first + 20 // 20 ms at 500 m/s2
	v := 500 * (float64(at)/f.Take.Hz + f.Take.Scene.Camera.Exposure/2 - f.start)
	a := metrology.Answer{ID: motion.PeakSpeed, Value: &v, Interval: &[2]float64{0.99 * v, 1.01 * v}}
	if j, ok := f.Judge(a, at); !ok || !j.Held {
		t.Errorf("%+v, %v: want the speed in the last frame followed, %.2f m/s, to be right", j, ok, v)
	}
	a.Bound = metrology.Lower
	if _, ok := f.Judge(a, at); ok {
		t.Error("a bound of a vehicle that was lost counts as an answer")
	}
	if _, ok := f.Judge(a, 1_000_000); !ok {
		t.Error("a bound of a vehicle followed to the end does not count as an answer")
	}
}
