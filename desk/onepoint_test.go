package desk

import (
	"context"
	"strings"
	"testing"

	"padside/camera"
	"padside/footage"
	"padside/logbook"
	"padside/metrology"
)

// A trace of one point, or of none but the rest, answers that it cannot say, and its results can be kept: it is no failure.
func TestTraceOfOnePoint(t *testing.T) {
	t.Parallel()
	l, err := logbook.ParseLaunch([]byte(`format = 1
[footage]
path = "x.mp4"
[scale]
kind = "rod"
marks = [ { at = "0 m", x = 10.0, y = 400.0 }, { at = "1 m", x = 10.0, y = 200.0 }, { at = "2 m", x = 10.0, y = 0.0 } ]
on_flight_line = true
[questions]
speeds = ["10 m/s"]
gates = ["1 m"]
drop_check = true
average_speeds = [ { from = 0, to = 3 } ]
`), "launch.toml")
	if err != nil {
		t.Fatal(err)
	}
	for name, spots := range map[string][]spot{
		"one":   {{frame: 3, t: 0.1, x: 20, y: 300, u: 0.05}},
		"still": {{frame: 2, t: 0.05, x: 20, y: 300, u: 0.05}, {frame: 3, t: 0.1, x: 20, y: 300.02, u: 0.05}},
	} {
		t.Run(name, func(t *testing.T) {
			s := seen{lane: 1, line: camera.FlightLine{Rest: camera.Pixel{X: 20, Y: 300}, Uy: -1}, restU: 0.007, spots: spots}
			lane, _, err := s.measure(context.Background(), l, footage.Info{Width: 320, Height: 480}, Options{})
			if err != nil {
				t.Fatal(err)
			}
			m := &Measurement{Launch: l, Sheet: &Sheet{Answers: lane.Motion.Answers}}
			for _, a := range m.Sheet.Answers {
				if a.Status != metrology.Insufficient || a.Reason == "" || a.Value != nil {
					t.Errorf("%s: %+v, want insufficient", a.ID, a)
				}
			}
			if err := m.Unanswered(); err == nil || !strings.Contains(err.Error(), "answers none of the questions") {
				t.Errorf("%v, want that nothing is answered", err)
			}
			if _, err := m.Sheet.JSON(); err != nil {
				t.Error(err)
			}
		})
	}
}
