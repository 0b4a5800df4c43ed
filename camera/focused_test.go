package camera

import (
	"fmt"
	"math"
	"testing"
)

// TestFocalFromRange: lens and tilt are not stated, the rod's distance is: with exact marks the focal length comes out of its scale, the tilt out of
// its perspective, and a known lean is taken out of heights and of speeds, as for a camera that is known (geometry of the pinhole).
func TestFocalFromRange(t *testing.T) {
	t.Parallel()
	for _, tilt := range []float64{-2, 0, 8} {
		for _, focal := range []float64{1800, 5500} {
			t.Run(fmt.Sprintf("%g deg, %g px", tilt, focal), func(t *testing.T) {
				t.Parallel()
				c, fl := pinhole{focal, tilt * degree}, flight{y: -0.1, z: 23, lean: 2 * degree}
				spec := rodSpec(c, -1.5, -1.2, 22.7, 0, 1, 2, 3, 4, 5, 6, 7)
				spec.FlightRange, spec.Lean = exactly(23), exactly(fl.lean)
				line, reach := fl.line(c, 9)
				s, _ := mustCalibrate(t, spec, line, reach)
				if math.Abs(s.view.focal/focal-1) > 1e-4 || math.Abs(s.view.tilt-tilt*degree) > 0.02*degree {
					t.Errorf("focal length %.1f px, tilt %.3f degrees", s.view.focal, s.view.tilt/degree)
				}
				for _, h := range []float64{0.5, 1, 4, 8} {
					const step = 1e-3
					speed := (s.HeightAt(fl.at(c, h+step)) - s.HeightAt(fl.at(c, h-step))) / (2 * step)
					if got := s.HeightAt(fl.at(c, h)); math.Abs(got/h-1) > 2e-5 || math.Abs(speed-1) > 2e-5 {
						t.Errorf("at %g m: height %.6f, speed %.6f of the truth", h, got, speed)
					}
				}
			})
		}
	}
}
