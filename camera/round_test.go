package camera

import (
	"math"
	"testing"
)

// TestRound: a vehicle of radius R whose followed point flies 0.8 R before its axis has its heights right, whether the distance to its near side is stated or the marks stand where the axis
// flies; without its width they are off by R over the distance, times how far before or behind that is. The pinhole projects the point itself.
func TestRound(t *testing.T) {
	t.Parallel()
	const radius, axis, high = 0.04, 8, 2.2
	c := pinhole{3600, 0}
	followed := flight{y: -0.8, z: axis - followedDepth*radius}
	line, reach := followed.line(c, 2.4)
	across := 2 * radius * c.focal / (axis - radius)
	for _, k := range []struct {
		name   string
		spec   func() Spec
		off    float64 // of heights, where the width is not known
		doubts float64 // relative standard uncertainty for it
	}{
		{"near side stated", func() Spec {
			s := rodSpec(c, 0.3, -0.8, 7.9, 0, 0.5, 1, 1.5, 2)
			s.RodRange, s.FlightRange = exactly(7.9), exactly(axis-radius)
			return s
		}, -0.2 * radius / axis, followedDepthU * radius / axis},
		{"marks on the flight line", func() Spec {
			s := rodSpec(c, 0, -0.8, axis, 0, 0.5, 1, 1.5, 2)
			s.OnLine = true
			return s
		}, 0.8 * radius / axis, math.Hypot(followedDepthU, marksDepthU) * radius / axis},
	} {
		t.Run(k.name, func(t *testing.T) {
			t.Parallel()
			flat, _ := mustCalibrate(t, k.spec(), line, reach)
			told, _, err := Calibrate(k.spec(), line, reach, Growth{Wide: across})
			if err != nil {
				t.Fatal(err)
			}
			p := followed.at(c, high)
			const second = 3e-5 // of the height: squares of R over the distance, the distances that rest and rod are at
			if e := flat.HeightAt(p)/high - 1; math.Abs(e-k.off) > second {
				t.Errorf("height errs by %.5f without the width, want %.5f", e, k.off)
			}
			if e := told.HeightAt(p)/high - 1; math.Abs(e) > second {
				t.Errorf("height errs by %.5f with it", e)
			}
			if u := told.ranges.flight; math.Abs(u-k.doubts) > second {
				t.Errorf("relative uncertainty %.5f, want %.5f", u, k.doubts)
			}
		})
	}
}
