package desk

import (
	"math/rand/v2"

	"padside/camera"
	"padside/footage"
	"padside/logbook"
	"padside/motion"
	"padside/timebase"
)

// Names of the parts of what is not known of a frame's exposure, in budgets.
const (
	sourceShutter  = "rolling shutter"
	sourceExposure = "exposure"
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

// late draws when the places of the flight line were seen, as motion takes it: the delay along the
// line in pixels becomes one in nominal heights, exact at rest, at half of the reach and at all of it.
func (s *seen) late(scale *camera.Scale, reach float64) (func(*rand.Rand, string) motion.Delay, []string) {
	reader := timebase.NewReader(s.doubt.Scans, nil)
	var sources []string
	if reader != nil {
		sources = append(sources, sourceShutter)
	}
	if s.doubt.Longest > s.doubt.Least {
		sources = append(sources, sourceExposure)
	}
	if len(sources) == 0 {
		return nil, nil
	}
	h1, h2 := scale.Height(reach/2), scale.Height(reach)
	// s(h) = a h + b h^2 through (h1, reach/2) and (h2, reach).
	b := (reach/h2 - reach/2/h1) / (h2 - h1)
	a := reach/h2 - b*h2
	return func(setup *rand.Rand, hold string) motion.Delay {
		d, q := reader.Draw(setup), setup.Float64()
		if hold == sourceShutter {
			d = reader.Mean()
		}
		if hold == sourceExposure {
			q = 0.5
		}
		x, y := d.X-s.doubt.Counted.X, d.Y-s.doubt.Counted.Y
		if reader == nil {
			x, y, d.Start = 0, 0, s.doubt.Counted.Start
		}
		per := x*s.line.Ux + y*s.line.Uy // s for each px along the line
		at := d.Start - s.doubt.Counted.Start + x*s.line.Rest.X + y*s.line.Rest.Y + s.doubt.Offset(q)
		return motion.Delay{T0: at, T1: per * a, T2: per * b}
	}, sources
}

// common is what all frames of the launch share.
func (s *seen) common(scale *camera.Scale, reach float64) motion.Common {
	c := motion.Common{Sources: scale.Sources(), Warp: scale.Warp, RateU: s.rateU}
	c.Delay, c.DelaySources = s.late(scale, max(reach, 1))
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
