package desk

import (
	"errors"
	"math/big"
	"strings"
	"testing"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/units"
)

// TestNoLaunchPullsSo: what slowed footage shows when it is timed by its playback, or a rate ten times too high, is warned of; what launches and drops
// do is not.
func TestNoLaunchPullsSo(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		low, high float64 // m/s2, the interval
		code      string
	}{
		{0.40, 0.42, "too-slow-for-a-launch"}, // a bottle at 1000 per second played at 30
		{0.3, 2.5, ""},                        // cannot be told
		{-0.2, 0.3, ""},                       // nothing that gains speed
		{9.2, 9.9, ""},
		{446, 469, ""},
		{42700, 48600, "too-quick-for-a-launch"},
	} {
		value := (c.low + c.high) / 2
		a := metrology.Answer{ID: motion.PeakAcceleration, Status: metrology.Measured, Value: &value, Interval: &[2]float64{c.low, c.high}}
		got := ""
		for _, w := range implausible([]metrology.Answer{a}) {
			got += w.Code
			if !strings.Contains(w.Message, "[footage.time]") {
				t.Errorf("%s does not say what to do: %s", w.Code, w.Message)
			}
		}
		if got != c.code {
			t.Errorf("a pull of %g to %g m/s2: warning %q, want %q", c.low, c.high, got, c.code)
		}
	}
}

// TestTimesNoCameraHas: what contradicts the step from frame to frame, or the kind of footage, is refused with a line on what to do.
func TestTimesNoCameraHas(t *testing.T) {
	t.Parallel()
	clip := footage.Info{Kind: footage.Clip, Width: 320, Height: 960, Frames: 100}
	stills := clip
	stills.Kind = footage.Stills
	for _, c := range []struct {
		name string
		info footage.Info
		time logbook.Time
		want string // part of the message; empty: accepted
	}{
		{"an exposure of most of the step", clip, logbook.Time{Basis: "rate", Exposure: 0.99e-3, ExposureGiven: true}, ""},
		{"an exposure longer than the step", clip, logbook.Time{Basis: "rate", Exposure: 12.5e-3, ExposureGiven: true}, "exposure 12.5 ms is longer than the 1 ms"},
		{"rows that take longer than a frame", clip, logbook.Time{Basis: "rate", RowTime: units.Quantity{Value: 10e-6}}, "row_time 0.01 ms for each of 320 rows"},
		{"a phone's rows", clip, logbook.Time{Basis: "rate", RowTime: units.Quantity{Value: 2e-6}}, ""},
		{"stills' times of a clip", clip, logbook.Time{Basis: "exif"}, `basis "exif" is for stills`},
		{"a clip's stamps of stills", stills, logbook.Time{Basis: "container"}, `basis "container" is for clips`},
	} {
		c.time.RateExact = big.NewRat(1000, 1)
		_, err := timeBase(&logbook.Launch{Path: "launch.toml", Time: c.time, Footage: logbook.Footage{Given: "heron.mp4"}}, c.info)
		var f *fault.Error
		switch {
		case c.want == "" && err != nil:
			t.Errorf("%s is refused: %v", c.name, err)
		case c.want != "" && (!errors.As(err, &f) || f.Kind != fault.Request || f.Hint == "" || !strings.Contains(f.Message, c.want)):
			t.Errorf("%s: %v, want a refusal with %q", c.name, err, c.want)
		}
	}
}

// TestWarningsOfLanes: of several vehicles each warning says which it speaks of, and the list that was given stays as it was.
func TestWarningsOfLanes(t *testing.T) {
	t.Parallel()
	given := []fault.Warning{{Code: "still-accelerating", Message: "the vehicle still gains speed"}}
	got := ofLane(2, given)
	if got[0].Message != "lane 2: the vehicle still gains speed" || got[0].Code != given[0].Code || given[0].Message != "the vehicle still gains speed" {
		t.Errorf("ofLane = %v, given %v", got, given)
	}
}

// TestFallsAgainstGravity: a fall at a rate that is 4 percent low passes, one at half the rate is named with the factor that it
// lacks; (1/2)^2 of gravity.
func TestFallsAgainstGravity(t *testing.T) {
	t.Parallel()
	g := 9.81
	for _, c := range []struct {
		value, half float64
		factor      string // empty: not named
	}{{9.1, 0.3, ""}, {2.45, 0.1, "2 times"}, {2.45, 8, ""}} {
		a := metrology.Answer{ID: motion.FreeFallAcceleration, Status: metrology.Measured, Value: &c.value, Expected: &g,
			Interval: &[2]float64{c.value - c.half, c.value + c.half}}
		w := implausible([]metrology.Answer{a})
		if (len(w) > 0) != (c.factor != "") || len(w) > 0 && !strings.Contains(w[0].Message, c.factor) {
			t.Errorf("a fall at %g m/s2: %v, want %q", c.value, w, c.factor)
		}
	}
}
