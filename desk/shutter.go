package desk

import (
	"math"

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

// doubt is what is not known of when the places of the pictures were exposed, the exposure as far as the
// pictures' blur tells it.
func (f *followed) doubt() timebase.Doubt {
	d := f.base.Doubt(filmedAs(f.info, f.base))
	if e := f.seen.Exposure; e.Seen && (!e.Given || e.Contrary) {
		d.Least, d.Longest = e.Least, e.Most
	}
	return d
}

// skewed puts what the shutter may do to the vehicle's length into its growth: what is known of the
// delay of a place for each px up the flight line, with what the vehicle's length tells of it.
func (s *seen) skewed() {
	g := &s.growth
	if !g.Ruler {
		return
	}
	k, u := timebase.NewReader(s.doubt.Scans, nil).Along(s.line.Ux, s.line.Uy)
	if g.SkewU > 0 && u > 0 { // both are of the same delay
		w, v := 1/(u*u), 1/(g.SkewU*g.SkewU)
		k, u = (w*k+v*g.Skew)/(w+v), 1/math.Sqrt(w+v)
	}
	s.toldSkew, s.toldSkewU = g.Skew, g.SkewU
	g.Skew, g.SkewU = k, u
}

// common is what all frames of the launch share.
func (s *seen) common(scale *camera.Scale, reach float64) motion.Common {
	l := motion.Lateness{Doubt: s.doubt, Line: s.line, Scale: scale, Reach: max(reach, 1)}
	if s.toldSkewU > 0 {
		l.Told = []motion.Skew{{K: s.toldSkew, U: s.toldSkewU}}
	}
	return l.Common(s.rateU)
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
