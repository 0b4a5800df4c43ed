package desk

import (
	"testing"

	"padside/metrology"
	"padside/motion"
)

// TestSlowedPlaybackIsSuspected: launches by their true clock keep it, also rather weak ones; by that of a
// playback slowed by 8 and more they do not, nor falls slowed by 4.
func TestSlowedPlaybackIsSuspected(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		kind   motion.Kind
		pull   float64 // m/s2, by the true clock
		rate   float64 // Hz, of the stamps
		slowed float64 // times
		doubt  bool
	}{
		{"a motor in real time", motion.Motor, 60, 30, 1, false},
		{"a heavy motor rocket, five times its weight", motion.Motor, 40, 60, 1, false},
		{"a bottle in real time", motion.Bottle, 150, 30, 1, false},
		{"a phone at 240, its clip played at 30", motion.Motor, 110, 30, 8, true},
		{"a bottle at 1600, played at 30", motion.Bottle, 450, 30, 1600.0 / 30, true},
		{"a bottle at 240, played at 30, unstated what flies", motion.AnyKind, 300, 30, 8, true},
		{"a ball in real time", motion.Dropped, 9.5, 30, 1, false},
		{"a ball at 120, played at 30", motion.Dropped, 9.8, 30, 4, true},
		{"a bottle at 240 whose kind nobody states, played at 30", motion.AnyKind, 580, 30, 8, true},
		{"stamps of 240 a second", motion.Motor, 25, 240, 1, false},
	} {
		odds := slowedOdds(pullsOf(c.kind, c.kind != motion.Dropped), pace{pull: c.pull / (c.slowed * c.slowed)}, c.rate)
		if (odds > doubtfulClock) != c.doubt {
			t.Errorf("%s: slowed with probability %.3g", c.name, odds)
		}
	}
}

// TestSlowedPlaybackWithholds: what is withheld keeps what it was asked of, and nothing of a value;
// a drop's check of its own clock stays.
func TestSlowedPlaybackWithholds(t *testing.T) {
	t.Parallel()
	from, to, v, g := 3, 7, 0.5, 1.1
	one := func(id string, value *float64) metrology.Answer {
		return metrology.Answer{ID: id, Status: metrology.Measured, Value: value, U: &v, Interval: &[2]float64{*value - 0.1, *value + 0.1}}
	}
	res := &motion.Result{Draws: make([][]float64, 4)}
	res.Answers = []metrology.Answer{one(motion.PeakAcceleration, &v), one(motion.PeakSpeed, &v), one(motion.AverageSpeed, &v), one(motion.FreeFallAcceleration, &g)}
	res.Answers[1].Bound, res.Answers[2].FromFrame, res.Answers[2].ToFrame = metrology.Lower, &from, &to
	if w := playback(motion.Bottle, true, 30, res); len(w) != 1 || w[0].Code != "playback-times" {
		t.Fatalf("warnings %v", w)
	}
	for _, a := range res.Answers[:3] {
		if a.Status != metrology.Insufficient || a.Value != nil || a.Bound != "" || a.Reason == "" {
			t.Errorf("%+v is not withheld", a)
		}
	}
	if a := res.Answers[2]; a.FromFrame == nil || *a.FromFrame != from || *a.ToFrame != to {
		t.Error("the mean speed lost its frames")
	}
	if a := res.Answers[3]; a.Status != metrology.Measured {
		t.Error("the check of the clock is withheld")
	}
}

// TestCoastIsAClock: gravity and drag take at least 9.8 m/s2 from what coasts upwards. A strong bottle slowed
// 4 times pulls as a motor does, but coasts by less than gravity; so does a flight that shows its coast alone.
func TestCoastIsAClock(t *testing.T) {
	t.Parallel()
	const pull, coast = 1100.0, 14.0 // m/s2, by the true clock
	for _, c := range []struct {
		name   string
		slowed float64
		thrust bool // is in view
		doubt  bool
	}{
		{"in real time", 1, true, false},
		{"in real time, its coast alone", 1, false, false},
		{"a bottle at 120, played at 30", 4, true, true},
		{"its coast alone at 240, played at 30", 8, false, true},
	} {
		res := &motion.Result{}
		slow := c.slowed * c.slowed
		peak, v := -coast/slow, 30/c.slowed
		if c.thrust {
			peak = pull / slow
		}
		res.Answers = []metrology.Answer{{ID: motion.PeakAcceleration, Status: metrology.Measured, Value: &peak}}
		res.Draws = make([][]float64, 1)
		for i := range 50 {
			at := float64(i) * 0.01 * c.slowed
			res.History = append(res.History, motion.State{T: at, Speed: v - coast/slow*at, USpeed: 0.01 * v})
		}
		if w := playback(motion.AnyKind, true, 30, res); (len(w) > 0) != c.doubt {
			t.Errorf("%s: %v", c.name, w)
		}
	}
}
