package pairs

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"padside/camera"
	"padside/metrology"
	"padside/motion"
	"padside/noise"
)

// line is an input of places at these times and heights, each known to u, with nothing in common.
func line(t, h []float64, u float64) Input {
	in := Input{Motion: &motion.Input{Lane: 1, Seed: 7, SetupSeed: 8}}
	for i := range t {
		in.Places = append(in.Places, motion.Observation{Frame: i, T: t[i], H: h[i], U: u})
	}
	return in.observed()
}

// observed gives the motion the places.
func (in Input) observed() Input {
	in.Motion.Observations = slices.Clone(in.Places)
	return in
}

func only(t *testing.T, in Input) metrology.Answer {
	t.Helper()
	answers, draws := Speeds(in, 0)
	if len(answers) != 1 || len(draws) != 1 {
		t.Fatalf("%d answers, %d lists of draws, want one of each", len(answers), len(draws))
	}
	return answers[0]
}

// levelled is what the spread of the noise level does to a standard uncertainty: the root of the mean of exp(2 s z), z normal (derived).
var levelled = math.Exp(statedSpread * statedSpread)

// The uncertainty of a mean speed by the law of propagation (GUM, JCGM 100:2008, 5.1.2): every source alone, as the closed form has it. The draws' own noise
// is 1/sqrt(2 4096) of it.
func TestSpeedPropagates(t *testing.T) {
	t.Parallel()
	const tolerance = 4 / 90.5
	for name, c := range map[string]struct {
		change func(in *Input)
		want   float64 // m/s
		source string
	}{
		"places":         {func(*Input) {}, levelled * 0.01 * math.Sqrt2 / 0.5, motion.TraceNoise},
		"rate":           {func(in *Input) { in.exact(); in.Motion.Common.RateU = 0.01 }, 6 * 0.01, "time base"},
		"times":          {func(in *Input) { in.exact(); in.times(0.005) }, 6 * math.Sqrt2 * 0.005 / 0.5, FrameTimes},
		"scale":          {func(in *Input) { in.exact(); in.scale(0.03) }, 6 * 0.03, "scale marks"},
		"same phase":     {func(in *Input) { in.exact(); in.phases(0.01, noise.Phase{1, 0}, noise.Phase{1, 0}) }, 0, motion.TraceNoise},
		"opposite phase": {func(in *Input) { in.exact(); in.phases(0.01, noise.Phase{1, 0}, noise.Phase{-1, 0}) }, 2 * 0.01 / 0.5, motion.TraceNoise},
		"across phase":   {func(in *Input) { in.exact(); in.phases(0.01, noise.Phase{1, 0}, noise.Phase{0, 1}) }, math.Sqrt2 * 0.01 / 0.5, motion.TraceNoise},
		"doubt far off":  {func(in *Input) { in.exact(); in.doubt(0.01) }, math.Sqrt2 * 0.01 / 0.5, motion.TraceNoise},
	} {
		t.Run(name, func(t *testing.T) {
			in := line([]float64{0, 0.5, 9, 10}, []float64{1, 4, 60, 70}, 0.01)
			in.Spans = []Span{{0, 1}}
			c.change(&in)
			a := only(t, in)
			if math.Abs(*a.Value-6) > 0.05*c.want+1e-6 {
				t.Errorf("value %g m/s, want 6", *a.Value)
			}
			want := c.want
			if name == "doubt far off" { // half a second is up to 1.5 lengths of the doubt: less than independent errors would do
				if !(*a.U < want && *a.U > want/4) {
					t.Errorf("u = %g m/s, want below %g", *a.U, want)
				}
				return
			}
			if math.Abs(*a.U-want) > tolerance*want+2e-5 {
				t.Errorf("u = %g m/s, want %g", *a.U, want)
			}
			if want > 0 && (len(a.Budget) == 0 || a.Budget[0].Source != c.source || a.Budget[0].Share < 0.9) {
				t.Errorf("budget %v, want %s", a.Budget, c.source)
			}
		})
	}
}

func (in *Input) exact() {
	for i := range in.Places {
		in.Places[i].U = 1e-9
	}
	*in = in.observed()
}

func (in *Input) times(u float64) {
	for i := range in.Places {
		in.Places[i].UT = u
	}
	*in = in.observed()
}

func (in *Input) doubt(u float64) {
	for i := range in.Places {
		in.Places[i].DoubtU = u
	}
}

func (in *Input) phases(u float64, list ...noise.Phase) {
	in.Motion.PhaseU = u
	for i, p := range list {
		in.Places[i].Phase = p
	}
	*in = in.observed()
}

func (in *Input) scale(u float64) {
	in.Motion.Common.Sources = []string{"scale marks"}
	in.Motion.Common.Warp = func(setup, _ *rand.Rand, hold string) camera.Warp {
		e := u * setup.NormFloat64()
		if hold == "scale marks" {
			e = 0
		}
		return camera.Warp{E: [3]float64{e}}
	}
}

// Intervals hold the truth as often as they say: heights and times err by noise whose level is off what is stated by 15 %, by the error between pixels, by
// a scale, a rate and stamps drawn here, by rules of their own.
func TestSpeedCoverage(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("a study of many places")
	}
	const runs, least, most = 1000, 0.93, 0.97
	held := 0
	for k := range runs {
		r := rand.New(rand.NewPCG(0x636f766572, uint64(k)))
		u, scaleU, rateU := 0.005*math.Exp(r.NormFloat64()), 0.03*r.Float64(), 0.02*r.Float64()
		var times, heights []float64
		at, h, speed := 0.0, 0.3, 5+20*r.Float64()
		for range 3 + r.IntN(4) {
			times, heights = append(times, at), append(heights, h)
			at, h = at+0.1+0.1*r.Float64(), h+speed*0.15
		}
		n := len(times)
		from := r.IntN(n - 1)
		to := from + 1 + r.IntN(n-1-from)
		truth := (heights[to] - heights[from]) / (times[to] - times[from])
		level, scale, clock := math.Exp(0.15*r.NormFloat64()), 1+scaleU*r.NormFloat64(), 1+rateU*r.NormFloat64()
		stampU, q := 0.008*r.Float64(), 0.02*0.003
		q0, q1 := q*r.NormFloat64(), q*r.NormFloat64()
		in := line(times, heights, u)
		for i := range in.Places {
			p := &in.Places[i]
			angle := 2 * math.Pi * r.Float64()
			p.Phase = noise.Phase{math.Cos(angle), math.Sin(angle)}
			p.H = p.H/scale + level*u*r.NormFloat64() + q0*p.Phase[0] + q1*p.Phase[1]
			p.T = p.T/clock + stampU*r.NormFloat64()
			p.UT = stampU
		}
		in = in.observed()
		in.Motion.PhaseU, in.Motion.Common.RateU = q, rateU
		in.scale(scaleU)
		in.Motion.Seed, in.Motion.SetupSeed = uint64(2*k), uint64(2*k+1)
		in.Spans = []Span{{from, to}}
		answers, _ := Speeds(in, 0)
		if a := answers[0]; a.Interval == nil {
			t.Fatalf("run %d: no value: %s", k, a.Reason)
		} else if a.Interval[0] <= truth && truth <= a.Interval[1] {
			held++
		}
	}
	share := float64(held) / runs
	t.Logf("%.1f %% of %d intervals hold the truth", 100*share, runs)
	if share < least || share > most {
		t.Errorf("%.1f %% of the intervals hold the truth, want %g to %g", 100*share, 100*least, 100*most)
	}
}

// What cannot be said is not said, and why.
func TestSpeedInsufficient(t *testing.T) {
	t.Parallel()
	in := line([]float64{0, 0.1, 0.2, 0.3, 0.4}, []float64{0, 1, 2, 3, 4}, 0.01)
	in.Places = append(in.Places[:1], in.Places[2:]...) // frame 1 was not found
	in.Spans = []Span{{0, 1}}
	if a := only(t, in.observed()); a.Status != metrology.Insufficient || !strings.Contains(a.Reason, "frame 1") || a.Value != nil {
		t.Errorf("%+v, want insufficient for frame 1", a)
	}
	in = line([]float64{0, 0.1, 0.2, 0.3, 0.4}, []float64{0, 1, 2, 3, 4}, 0.01)
	in.times(0.05)
	in.Spans = []Span{{1, 2}}
	if a := only(t, in); a.Status != metrology.Insufficient || !strings.Contains(a.Reason, "the time from frame 1 to frame 2") {
		t.Errorf("%+v, want insufficient for the times", a)
	}
}

// Two or three pictures answer by themselves, between neighbours; more are for the motion to answer, and what is asked for is answered once.
func TestSpeedAutomatic(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		h    []float64
		ask  []Span
		want []Span
	}{
		"two":            {[]float64{0, 2}, nil, []Span{{0, 1}}},
		"three":          {[]float64{0, 2, 5}, nil, []Span{{0, 1}, {1, 2}}},
		"asked too":      {[]float64{0, 2, 5}, []Span{{0, 2}, {1, 2}}, []Span{{0, 2}, {1, 2}, {0, 1}}},
		"rest first":     {[]float64{0, 0, 0, 2, 5}, nil, []Span{{2, 3}, {3, 4}}},
		"one":            {[]float64{1}, nil, nil},
		"nothing moves":  {[]float64{0, 0.001, 0}, nil, nil},
		"a motion":       {[]float64{0, 1, 2, 3}, nil, nil},
		"a motion asked": {[]float64{0, 1, 2, 3}, []Span{{1, 3}}, []Span{{1, 3}}},
	} {
		t.Run(name, func(t *testing.T) {
			var times []float64
			for i := range c.h {
				times = append(times, float64(i)/8)
			}
			in := line(times, c.h, 0.01)
			in.Spans = c.ask
			answers, _ := Speeds(in, 0)
			if len(answers) != len(c.want) {
				t.Fatalf("%d answers, want %v", len(answers), c.want)
			}
			for i, a := range answers {
				if *a.FromFrame != c.want[i].From || *a.ToFrame != c.want[i].To {
					t.Errorf("answer %d is of frames %d to %d, want %v", i, *a.FromFrame, *a.ToFrame, c.want[i])
				}
				want := 8 * (c.h[*a.ToFrame] - c.h[*a.FromFrame]) / float64(*a.ToFrame-*a.FromFrame)
				if math.Abs(*a.Value-want) > 0.02 {
					t.Errorf("frames %d to %d: %g m/s, want %g", *a.FromFrame, *a.ToFrame, *a.Value, want)
				}
			}
		})
	}
}

// Launches of one setup see the same truth draw by draw: their ratio owes nothing to the scale.
func TestSpeedsShareTheSetup(t *testing.T) {
	t.Parallel()
	one := line([]float64{0, 0.5}, []float64{0, 3}, 1e-6)
	two := line([]float64{0, 0.5}, []float64{0, 4}, 1e-6)
	var draws [2][]float64
	for k, in := range []Input{one, two} {
		in.scale(0.05)
		in.Motion.Seed = uint64(k)
		in.Spans = []Span{{0, 1}}
		_, d := Speeds(in, 0)
		draws[k] = d[0]
	}
	ratio := make([]float64, len(draws[0]))
	for i := range ratio {
		ratio[i] = draws[1][i] / draws[0][i]
	}
	if own, together := metrology.SD(draws[0])/6, metrology.SD(ratio)/(4./3); own < 0.04 || together > 1e-4 {
		t.Errorf("relative uncertainty %g, of the ratio %g; want 0.05 and none", own, together)
	}
}
