package desk

import (
	"fmt"
	"math"
	"testing"

	"padside/motion"
)

// What a careful reader of this clip would write. The picture is cropped (1716 x 172 is no sensor's), so that tilt and
// focal length, which count from the middle of the sensor, are left out: the perspective comes from how wide the ball looks when
// held and where it lands, read under a loupe. The clock was checked by ear: two impacts lie 2.657(10) s apart in the slowed sound and
// 79.6 frames in the picture, as 120 Hz slowed four times makes them (2.654 s).
const realDropScale = `format = 1
title = "a ball let go under a ceiling"
vehicle = "ball"
[footage]
path = %q
from = 100
to = %d
[footage.time]
basis = "rate"
rate = "120 Hz"
[scale]
kind = "rod"
on_flight_line = true
lean = "0(1) deg"
marks = [
  { at = "0.020(5) m", x = 70.0, y = 1656.0, u = "2 px", width = "24.6(7) px" },
  { at = %q, x = 27.6, y = 73.4, u = "1 px", width = "26.7(7) px" },
]
[questions]
drop_check = true
`

// The ball's middle after it was thrown back, read by hand.
const realRebound = `[trace]
marks = [
  { frame = 204, x = 71.6, y = 1603.9 }, { frame = 208, x = 76.3, y = 1542.9 }, { frame = 212, x = 80.4, y = 1487.9 },
  { frame = 216, x = 84.7, y = 1441.1 }, { frame = 220, x = 88.5, y = 1399.5 }, { frame = 224, x = 92.6, y = 1365.8 },
  { frame = 228, x = 96.5, y = 1337.9 }, { frame = 232, x = 101.1, y = 1317.7 }, { frame = 236, x = 105.9, y = 1303.8 },
  { frame = 240, x = 110.3, y = 1297.6 }, { frame = 244, x = 114.9, y = 1298.2 }, { frame = 248, x = 119.2, y = 1306.5 },
  { frame = 252, x = 123.4, y = 1321.7 }, { frame = 256, x = 127.7, y = 1344.5 },
]
`

// A real ball, real clip (../shared/data/SOURCE.md: 2.32 m from floor to ceiling, ball 4 cm, 120 per second): from fall and rebound, with
// heights known to 4 cm, the interval holds gravity and is no wider than 6 % either way. From the fall alone it does not hold it
// (docs/measured.md says by how much): drag and perspective look alike there, and the trace leaves smooth waves of 1.5 px; it is only
// wanted within 8 %, so that a change for the worse is seen. So much they are in doubt: the ball's 4 cm and its width in the picture make the fall 2.47(8) m long, the ceiling makes it
// 2.28 m; the difference is two standard uncertainties of 4 cm and 8 cm together.
func TestRealDropCheck(t *testing.T) {
	t.Parallel()
	const gravity, widest = 9.81, 0.12
	clip := realFile(t, "fall-120fps/ball_drop.mp4")
	for name, c := range map[string]struct {
		text  string
		holds bool
	}{
		"fall":         {fmt.Sprintf(realDropScale, clip, 201, "2.30(1) m"), false},
		"with rebound": {fmt.Sprintf(realDropScale, clip, 257, "2.30(4) m") + realRebound, true},
	} {
		t.Run(name, func(t *testing.T) {
			for _, a := range measuredText(t, c.text).Answers {
				if a.ID != motion.FreeFallAcceleration {
					continue
				}
				if a.Interval == nil {
					t.Fatalf("no value: %s", a.Reason)
				}
				t.Logf("%.3f m/s2, %.3f to %.3f, %v", *a.Value, a.Interval[0], a.Interval[1], a.Budget)
				if !c.holds {
					if math.Abs(*a.Value/gravity-1) > 0.08 {
						t.Errorf("%.3f m/s2 is more than 8 %% off", *a.Value)
					}
					return
				}
				if a.Interval[0] > gravity || a.Interval[1] < gravity {
					t.Errorf("the interval %.3f to %.3f leaves gravity out", a.Interval[0], a.Interval[1])
				}
				if w := a.Interval[1] - a.Interval[0]; w > widest*gravity {
					t.Errorf("the interval is %.1f %% wide", 100*w/gravity)
				}
				return
			}
			t.Fatal("no free-fall acceleration")
		})
	}
}
