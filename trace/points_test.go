package trace

import (
	"testing"

	"padside/camera"
)

// What is found again at the end, in one or two frames after one in which the vehicle was lost, is taken for the vehicle only if five points in motion show
// where that goes.
func TestShortEndAfterLoss(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		frames []int
		left   int
	}{
		"known motion":     {[]int{0, 1, 2, 3, 4, 5, 6, 7, 9}, 9},
		"little motion":    {[]int{0, 1, 2, 3, 4, 6, 7}, 5},
		"one after a loss": {[]int{0, 1, 2, 3, 4, 9}, 5},
		"three after it":   {[]int{0, 1, 2, 3, 5, 6, 7}, 7},
		"nothing lost":     {[]int{0, 1, 2, 3, 4}, 5},
		"two points":       {[]int{0, 5}, 1},
	} {
		p := &Path{Line: camera.FlightLine{Uy: -1}}
		for _, f := range c.frames { // at rest up to frame 2, then 4 px a frame
			p.Points = append(p.Points, Point{Frame: f, Y: -4 * float64(max(0, f-2))})
		}
		p.trimEnd()
		if len(p.Points) != c.left || len(p.Dropped) != len(c.frames)-c.left {
			t.Errorf("%s: %d points are left and %d dropped of %d, want %d left", name, len(p.Points), len(p.Dropped), len(c.frames), c.left)
		}
	}
}
