package pairs

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"padside/fault"
	"padside/metrology"
	"padside/motion"
)

// fitted is a result with these answers, each of a relative uncertainty of 2 %.
func fitted(peak, pull, window float64) *motion.Result {
	res := &motion.Result{Lane: 1, History: make([]motion.State, 3)}
	r := rand.New(rand.NewPCG(1, 1))
	for _, a := range []struct {
		answer metrology.Answer
		value  float64
	}{
		{metrology.Answer{ID: motion.FirstMotion, Unit: "s"}, 0.1},
		{metrology.Answer{ID: motion.PeakSpeed, Unit: "m/s"}, peak},
		{metrology.Answer{ID: motion.PeakAcceleration, Unit: "m/s2", Window: &window}, pull},
		{metrology.Answer{ID: motion.FreeFallAcceleration, Unit: "m/s2"}, 9.8},
	} {
		draws := make([]float64, fewestDraws)
		for i := range draws {
			draws[i] = a.value * (1 + 0.02*r.NormFloat64())
		}
		got, err := metrology.FromDraws(a.answer, a.value, draws)
		if err != nil {
			panic(err)
		}
		res.Answers, res.Draws = append(res.Answers, got), append(res.Draws, draws)
	}
	return res
}

// pulled is 100 frames of a vehicle that leaves rest at frame 20 and is pulled evenly by 50 m/s2, 500 frames a second: 8 m/s at the end.
func pulled(u float64) Input {
	r := rand.New(rand.NewPCG(2, 2))
	var times, heights []float64
	for i := range 100 {
		t := float64(i) / 500
		times, heights = append(times, t), append(heights, 25*square(math.Max(0, t-0.04))+u*r.NormFloat64())
	}
	return line(times, heights, u)
}

func status(res *motion.Result) string {
	var out []string
	for _, a := range res.Answers {
		if a.Status == metrology.Measured {
			out = append(out, a.ID)
		}
	}
	return strings.Join(out, " ")
}

// A fit that the places bear out stands; one that they contradict does not, and what is withheld is what rests on it.
func TestGuard(t *testing.T) {
	t.Parallel()
	const all = "first_motion peak_speed peak_acceleration free_fall_acceleration"
	for name, c := range map[string]struct {
		res    *motion.Result
		change func(in *Input)
		left   string
		says   string
	}{
		"right":               {fitted(8, 50, 0.02), nil, all, ""},
		"a little low":        {fitted(7.8, 45, 0.02), nil, all, ""},
		"a tremble":           {fitted(0.3, 50, 0.02), nil, "free_fall_acceleration", "the vehicle makes"},
		"too slow by a third": {fitted(5.4, 50, 0.02), nil, "free_fall_acceleration", "never faster than 5.4 m/s"},
		"too fast":            {fitted(20, 50, 0.02), nil, "free_fall_acceleration", "reaches 20 m/s"},
		"pulls too hard":      {fitted(8, 400, 0.02), nil, "first_motion peak_speed free_fall_acceleration", "400 m/s2: over 20 ms"},
		"pulls too little":    {fitted(8, 5, 0.02), nil, "first_motion peak_speed free_fall_acceleration", ", 5 m/s2"},
		"one frame astray":    {fitted(8, 50, 0.02), func(in *Input) { in.Places[60].H += 0.5 }, all, ""},
		"eight frames":        {fitted(8, 50, 0.02), func(in *Input) { in.astray(40, 48) }, all, ""},
		"let go":              {fitted(8, 50, 0.02), func(in *Input) { in.Motion.Kind = motion.Dropped }, "free_fall_acceleration", "gains speed by gravity"},
		"right, common time":  {fitted(8, 50, 0.02), func(in *Input) { in.Motion.Common.RateU = 0.2 }, all, ""},
	} {
		t.Run(name, func(t *testing.T) {
			in := pulled(0.0002)
			if c.change != nil {
				c.change(&in)
			}
			warnings := Guard(in.observed(), c.res)
			if got := status(c.res); got != c.left {
				t.Errorf("left are %q, want %q (%v)", got, c.left, warnings)
			}
			if c.says == "" {
				if len(warnings) > 0 || c.res.History == nil {
					t.Errorf("%v, want no word", warnings)
				}
				return
			}
			if len(warnings) != 1 || !strings.Contains(warnings[0].Message, c.says) || !strings.Contains(warnings[0].Message, "frame") {
				t.Errorf("%v, want %q and the frames", warnings, c.says)
			}
			for i, a := range c.res.Answers {
				if a.Status != metrology.Measured && (a.Reason == "" || a.Value != nil || c.res.Draws[i] != nil) {
					t.Errorf("%+v: want a reason, no value and no draws", a)
				}
			}
		})
	}
}

func (in *Input) astray(from, to int) {
	for i := from; i < to; i++ {
		in.Places[i].H += 0.3
	}
}

// A ball in uniform motion from the first frame on, its places good to 0.02 px of 2.65 px a frame, cannot have been pulled over nine frames from
// rest to its speed: the figures of a real clip (../shared/data/ball-30000fps).
func TestGuardUniformMotion(t *testing.T) {
	t.Parallel()
	const pixel = 5.9e-5 // m, that make 79417 px/s 4.68 m/s
	r := rand.New(rand.NewPCG(3, 3))
	var times, heights []float64
	for i := range 15 {
		times, heights = append(times, float64(i)/30000), append(heights, pixel*(2.647*float64(i)+0.02*r.NormFloat64()))
	}
	in := line(times, heights, 0.02*pixel)
	res := fitted(4.68, 15560, 0.3e-3)
	w := Guard(in, res)
	if len(w) != 1 || status(res) != "first_motion peak_speed free_fall_acceleration" {
		t.Errorf("left are %q: %v", status(res), w)
	}
}

// A fall is pulled by gravity: where the fit says more, it is wrong by that much; where it says far more, or far less though the ball was seen at
// rest, nothing of it stands. Here what is let go gains speed by 50 m/s2, 48 to 52, under a gravity of other strengths.
func TestGuardFall(t *testing.T) {
	t.Parallel()
	const rest = "first_motion peak_speed free_fall_acceleration"
	for name, c := range map[string]struct {
		gravity float64
		begun   bool // rest was not seen
		left    string
	}{
		"as gravity does":         {50, false, "first_motion peak_speed peak_acceleration free_fall_acceleration"},
		"a little faster":         {45, false, rest},
		"far faster":              {30, false, "free_fall_acceleration"},
		"far slower":              {100, false, "free_fall_acceleration"},
		"slower, rest not seen":   {100, true, "peak_speed peak_acceleration free_fall_acceleration"},
		"a little slower, a foam": {60, false, "first_motion peak_speed peak_acceleration free_fall_acceleration"},
	} {
		t.Run(name, func(t *testing.T) {
			in, res := pulled(0.0002), fitted(8, 50, 0.02)
			in.Motion.Kind, in.Motion.Questions.Gravity.Value = motion.Dropped, c.gravity
			if c.begun {
				withhold(res, 0, "the flight had begun")
			}
			if w := Guard(in.observed(), res); status(res) != c.left {
				t.Errorf("left are %q, want %q (%v)", status(res), c.left, w)
			}
		})
	}
}

// Neither needs the other: without places, or without a value, there is nothing to hold against each other.
func TestGuardWithoutPlaces(t *testing.T) {
	t.Parallel()
	res := fitted(8, 50, 0.02)
	var none []fault.Warning
	if w := Guard(line([]float64{0}, []float64{0}, 0.1), res); len(w) != len(none) {
		t.Errorf("%v of one place", w)
	}
	silent := &motion.Result{Answers: []metrology.Answer{{ID: motion.PeakSpeed, Status: metrology.Insufficient, Reason: "x"}}, Draws: make([][]float64, 1)}
	if w := Guard(pulled(0.001), silent); len(w) != 0 || silent.Answers[0].Reason != "x" {
		t.Errorf("%v, %+v", w, silent.Answers[0])
	}
}
