package desk

import (
	"testing"

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
		odds := slowedOdds(pullsOf(c.kind, c.kind != motion.Dropped), c.pull/(c.slowed*c.slowed), c.rate)
		if (odds > doubtfulClock) != c.doubt {
			t.Errorf("%s: slowed with probability %.3g", c.name, odds)
		}
	}
}
