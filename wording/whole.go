package wording

import (
	"fmt"

	"padside/metrology"
	"padside/motion"
)

// Whole says what an answer that was read from a file lacks to be worded, nil where it lacks nothing: its value and interval (metrology.Answer.Check),
// and the speed, height or frames that it speaks of.
func Whole(a metrology.Answer) error {
	if err := a.Check(); err != nil {
		return err
	}
	of := map[string]bool{}
	switch a.ID {
	case motion.TimeToSpeed, motion.MeanAccelerationToSpeed:
		of["speed"] = a.Speed != nil
	case motion.GateCrossing, motion.GateSpeed:
		of["height"] = a.Height != nil
	case motion.SplitSpeed:
		of["from"], of["to"] = a.From != nil, a.To != nil
	case motion.AverageSpeed:
		of["from_frame"], of["to_frame"] = a.FromFrame != nil, a.ToFrame != nil
	case motion.PeakAcceleration:
		of["window"] = a.Window != nil || a.Value == nil
	case motion.FreeFallAcceleration:
		of["expected"] = a.Expected != nil || a.Value == nil
	}
	for key, there := range of {
		if !there {
			return fmt.Errorf("%s has no %s", a.ID, key)
		}
	}
	return nil
}
