package desk

import (
	"padside/camera"
	"padside/footage"
	"padside/logbook"
	"padside/motion"
	"padside/timebase"
)

// filmedAs is what the shutter of the camera can be judged by where nobody stated it.
func filmedAs(info footage.Info, b *timebase.Base) timebase.Filmed {
	f := timebase.Filmed{Width: info.Width, Height: info.Height, Readout: info.Readout(),
		Turned: info.Rotation != 0 || info.Mirrored, Stills: info.Kind == footage.Stills}
	if step, _ := b.Steps(); step != nil {
		f.Interval, _ = step.Float64()
	}
	return f
}

// common is what all frames of the launch share.
func (s *seen) common(scale *camera.Scale, reach float64) motion.Common {
	c := motion.Common{Sources: scale.Sources(), Warp: scale.Warp, RateU: s.rateU}
	c.Delay, c.DelaySources = motion.Late(s.doubt, s.line, scale, max(reach, 1))
	return c
}

// exposureStated says whether the launch file or the pictures' own tags state the exposure.
func exposureStated(l *logbook.Launch, info footage.Info) bool {
	return l.Time.ExposureGiven || info.Exposure > 0
}

// slippable is the frame interval of footage whose stamps go on evenly, s: a frame that the camera lost
// shows in none of them. 0 of footage whose stamps are each picture's own.
func slippable(b *timebase.Base) float64 {
	if b.Basis != timebase.Rate && b.Basis != timebase.Container || !b.Constant() {
		return 0
	}
	step, _ := b.MeanStep().Float64()
	return step
}

// strays is the even time of a frame less its stamp, s; 0 where the stamps are taken as they are.
func strays(b *timebase.Base, even []float64, frame int) float64 {
	if even == nil {
		return 0
	}
	stamp, _ := b.Stamps[frame].Float64()
	return even[frame] - stamp
}
