package desk

import (
	"math"
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

// reader draws the delay of the pictures' rows from the prior, from what the vehicle's length tells of
// it, and from what the scale's geometry makes of that.
func (s *seen) reader(scale *camera.Scale) *timebase.Reader {
	var told [][2]float64
	if s.toldSkewU > 0 {
		told = append(told, [2]float64{s.toldSkew, s.toldSkewU})
	}
	if k, u, ok := scale.SkewSeen(); ok && u > 0 {
		told = append(told, [2]float64{k, u})
	}
	prior := timebase.NewReader(s.doubt.Scans, nil)
	if len(told) == 0 {
		return prior
	}
	r := timebase.NewReader(s.doubt.Scans, func(d timebase.Delay) float64 {
		k, l := d.X*s.line.Ux+d.Y*s.line.Uy, 0.0
		for _, t := range told {
			z := (k - t[0]) / t[1]
			l -= z * z / 2
		}
		return math.Exp(l)
	})
	if r == nil { // what the length tells is impossible: it tells of something else
		return prior
	}
	return r
}

// late draws when the places of the flight line were seen, as motion takes it: the delay along the
// line in pixels becomes one in nominal heights, exact at rest, at half of the reach and at all of it. per
// turns a delay's slope at rest back into s for each px.
func (s *seen) late(scale *camera.Scale, reach float64) (draw func(*rand.Rand, string) motion.Delay, sources []string, per func(motion.Delay) float64) {
	reader := s.reader(scale)
	if reader != nil {
		sources = append(sources, sourceShutter)
	}
	if s.doubt.Longest > s.doubt.Least {
		sources = append(sources, sourceExposure)
	}
	if len(sources) == 0 {
		return nil, nil, nil
	}
	h1, h2 := scale.Height(reach/2), scale.Height(reach)
	// s(h) = a h + b h^2 through (h1, reach/2) and (h2, reach).
	b := (reach/h2 - reach/2/h1) / (h2 - h1)
	a := reach/h2 - b*h2
	counted := s.doubt.Counted
	draw = func(setup *rand.Rand, hold string) motion.Delay {
		d, q := reader.Draw(setup), setup.Float64()
		if hold == sourceShutter {
			d = reader.Mean()
		}
		if hold == sourceExposure {
			q = 0.5
		}
		if reader == nil {
			d = counted
		}
		x, y := d.X-counted.X, d.Y-counted.Y
		k := x*s.line.Ux + y*s.line.Uy // s for each px along the line
		at := d.Start - counted.Start + x*s.line.Rest.X + y*s.line.Rest.Y + s.doubt.Offset(q)
		return motion.Delay{T0: at, T1: k * a, T2: k * b}
	}
	return draw, sources, func(d motion.Delay) float64 { return d.T1/a + counted.X*s.line.Ux + counted.Y*s.line.Uy }
}

// common is what all frames of the launch share. The scale of a draw is that of its delay: what the
// vehicle's length is longer by for the shutter is none of its distance.
func (s *seen) common(scale *camera.Scale, reach float64) motion.Common {
	c := motion.Common{Sources: scale.Sources(), Warp: scale.Warp, RateU: s.rateU}
	var per func(motion.Delay) float64
	c.Delay, c.DelaySources, per = s.late(scale, max(reach, 1))
	if _, _, ok := scale.SkewSeen(); ok && c.Delay != nil {
		c.WarpAt = func(d motion.Delay, setup, launch *rand.Rand, hold string) camera.Warp {
			return scale.At(per(d)).Warp(setup, launch, hold)
		}
	}
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
