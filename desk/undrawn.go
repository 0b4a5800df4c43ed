package desk

import (
	"fmt"
	"math"

	"padside/camera"
	"padside/fault"
	"padside/trace"
)

// undrawn is what is said in place of a picture that could not be drawn: a picture never costs the
// answers it would illustrate.
func undrawn(what string, err error) fault.Warning {
	return fault.Warning{Code: "picture-missing", Message: fmt.Sprintf("%s is missing: %v", what, err)}
}

// levelRows returns the part of a streak that can be drawn against height, as a streak of its own:
// the rows about rest over which height rises. Beyond, where the scale's perspective has its
// vanishing point within the picture, height has no value or falls back. nil: fewer than two rows
// or columns are left.
func levelRows(s *trace.Streak, scale *camera.Scale) *trace.Streak {
	if s == nil || len(s.Frames) < 2 {
		return nil
	}
	height := func(row int) float64 { return scale.Height(s.S0 + s.Step*float64(row)) }
	rises := func(row int) bool { // from this row to the next
		d := height(row+1) - height(row)
		return d > 0 && !math.IsInf(d, 0)
	}
	lo := min(max(0, int(math.Round(-s.S0/s.Step))), s.Rows-1)
	hi := lo
	for lo > 0 && rises(lo-1) {
		lo--
	}
	for hi+1 < s.Rows && rises(hi) {
		hi++
	}
	return s.Crop(lo, hi+1)
}
