package camera

import (
	"math"
	"testing"
)

func closeTo(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.6g, want %.6g within %.2g", what, got, want, tolerance)
	}
}

// The definitions, worked out by hand: f/16 at 1/125 s is EV 14.97, f/8 at 1/2000 s and ISO 800 asks for EV100 13.97 (APEX, ISO 2720 from memory);
// full sun at f/16 and 1/ISO (common practice, no source) is within half a stop of EV 15.
func TestLightValue(t *testing.T) {
	t.Parallel()
	closeTo(t, "f/16, 1/125 s", LightValue(16, 1./125, 100), 14.9658, 1e-4)
	closeTo(t, "f/8, 1/2000 s, ISO 800", LightValue(8, 1./2000, 800), 13.9658, 1e-4)
	closeTo(t, "the rule of full sun", LightValue(16, 1./400, 400), 15, 0.5)
	closeTo(t, "ISO back", Sensitivity(8, 1./2000, LightValue(8, 1./2000, 800)), 800, 1e-9)
	closeTo(t, "exposure back", Exposure(8, 800, LightValue(8, 1./2000, 800)), 1./2000, 1e-15)
}

// 50 mm before 36x24 mm: recomputed from 2 atan(d/2f).
func TestAngleOfView(t *testing.T) {
	t.Parallel()
	const deg = math.Pi / 180
	closeTo(t, "wide", AngleOfView(0.036, 0.050)/deg, 39.598, 1e-3)
	closeTo(t, "high", AngleOfView(0.024, 0.050)/deg, 26.99, 1e-2)
	closeTo(t, "diagonal", AngleOfView(math.Hypot(0.036, 0.024), 0.050)/deg, 46.793, 1e-3)
}

// Worked examples of the US Army's course SS0507, learning events 10 and 12, which leaves out the small terms in f: to 1 %.
func TestDepthOfField(t *testing.T) {
	t.Parallel()
	const inch, foot = 0.0254, 0.3048
	closeTo(t, "50 mm taken as 2 in at f/8: H", Hyperfocal(2*inch, 8, 0.002*inch)/foot, 20.8, 0.25)
	nearest, farthest := DepthOfField(2*inch, 8, 0.002*inch, 20.8333*foot)
	closeTo(t, "focused there: near", nearest/foot, 10.4, 0.15)
	if farthest < 1000*foot {
		t.Errorf("focused there: far %g m, want very far", farthest)
	}
	nearest, farthest = DepthOfField(3*inch, 8, 0.002*inch, 15*foot)
	closeTo(t, "75 mm taken as 3 in: near", nearest/foot, 11.3, 0.15)
	closeTo(t, "75 mm taken as 3 in: far", farthest/foot, 22, 0.3)
	closeTo(t, "50 mm f/8: H", Hyperfocal(0.050, 8, 0.03e-3), 10.46667, 1e-5)
	nearest, farthest = DepthOfField(0.050, 8, 0.03e-3, 5)
	closeTo(t, "50 mm f/8 at 5 m: near", nearest, 3.38937, 1e-5)
	closeTo(t, "50 mm f/8 at 5 m: far", farthest, 9.52744, 1e-5)
	if _, farthest = DepthOfField(0.050, 8, 0.03e-3, 11); !math.IsInf(farthest, 1) {
		t.Errorf("beyond the hyperfocal distance far is %g", farthest)
	}
}
