package desk

import (
	"math"
	"testing"

	"padside/timebase"
)

// TestBackgroundTellsTheRows: what the still background tells narrows an unknown shutter and one that
// is stated loosely, and one that it excludes is named and taken for unknown.
func TestBackgroundTellsTheRows(t *testing.T) {
	t.Parallel()
	filmed := timebase.Filmed{Interval: 1. / 30, Width: 640, Height: 480, Readout: timebase.Readout{Y: 1}}
	const h = 480.
	told := &timebase.Gradient{Y: 12e-3 / h, Cov: [2][2]float64{{math.Pow(2e-3/640, 2), 0}, {0, math.Pow(1e-3/h, 2)}}}
	for _, c := range []struct {
		name     string
		shutter  timebase.Shutter
		readout  float64 // s, afterwards
		u        float64
		excluded bool
	}{
		{"unknown", timebase.Shutter{}, 12e-3, 1e-3, false},
		{"stated to 1 ms", timebase.Shutter{Kind: timebase.Rolling, RowTime: 13e-3 / h, RowTimeU: 1e-3 / h}, 12.5e-3, 0.71e-3, false},
		{"stated exactly", timebase.Shutter{Kind: timebase.Rolling, RowTime: 13e-3 / h}, 13e-3, 0, false},
		{"stated far off", timebase.Shutter{Kind: timebase.Rolling, RowTime: 25e-3 / h, RowTimeU: 0.5e-3 / h}, 12e-3, 1e-3, true},
		{"stated to be global", timebase.Shutter{Kind: timebase.Global}, 12e-3, 1e-3, true},
	} {
		k := clock{Doubt: timebase.Doubt{Scans: c.shutter.Scans(filmed)}}
		if c.shutter.Kind != timebase.Unknown {
			k.Unstated = timebase.Shutter{}.Scans(filmed)
		}
		k.narrow(told)
		g := timebase.GradientOf(k.Doubt.Scans)
		if got, u := g.Y*h, math.Sqrt(g.Cov[1][1])*h; math.Abs(got-c.readout) > 1e-4 || math.Abs(u-c.u) > 0.05e-3 || (k.excluded != nil) != c.excluded {
			t.Errorf("%s: %.2f(%.2f) ms, excluded %v, want %.2f(%.2f) ms, %v", c.name, 1e3*got, 1e3*u, k.excluded != nil, 1e3*c.readout, 1e3*c.u, c.excluded)
		}
		before := append([]timebase.Scan(nil), k.Doubt.Scans...)
		if k.narrow(nil); len(before) != len(k.Doubt.Scans) {
			t.Errorf("%s: nothing told changed it", c.name)
		}
	}
}
