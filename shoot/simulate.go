package shoot

import (
	"math"
	"math/rand/v2"
	"slices"

	"padside/camera"
	"padside/motion"
	"padside/noise"
	"padside/timebase"
	"padside/trace"
)

// simulate makes one take of a mode: heights at the frames' times, as the trace would give them,
// and the scale that marks would give. Time 0 is first motion.
func (s *Shoot) simulate(o *Option, one simulated, r *rand.Rand) (motion.Input, error) {
	c, v, e := o.camera, o.view, s.Expected
	spec, err := s.spec(v, r)
	if err != nil {
		return motion.Input{}, err
	}
	w := way{s: s, o: o, rest: v.row(e.Front())}
	line := camera.FlightLine{Rest: v.pixel(e.Front()), Uy: -e.sense()}
	reach := w.seen(o.viewTime)
	var growth camera.Growth
	if one.ruler {
		growth = s.ruler(c, o, v, reach, r)
	}
	scale, _, err := camera.Calibrate(spec, line, reach, growth)
	if err != nil {
		return motion.Input{}, err
	}
	pitch := scale.MetresPerPixel(0)
	clock := s.clock(o)
	in := motion.Input{Lane: 1, LeftView: true, Interval: 1 / o.Rate, Kind: e.Kind, Questions: s.asked(), Seed: r.Uint64(), SetupSeed: r.Uint64(),
		PhaseU: trace.PhaseU * pitch}
	late := motion.Lateness{Doubt: clock, Line: line, Scale: scale, Reach: math.Max(reach, 1)}
	in.Common = late.Common(timebase.DefaultRateU)
	if c.Burst != nil {
		in.Common.RateU, in.Interval = 0, 0 // its times are the camera's clock's own
	}
	w.doubt, w.restU = trace.Usual(one.doubt, c.recording().restU)
	in.RestU = w.restU * pitch
	w.draw(r)
	w.reads, w.counted = timebase.NewReader(clock.Scans, nil).Draw(r).Y, clock.Counted.Y
	w.observe(&in, scale, one.phase, r)
	correlate(in.Observations, r)
	return in, nil
}

// way is how the trace of one simulated take errs, px along the flight line.
type way struct {
	s    *Shoot
	o    *Option
	rest float64 // row of the front at rest

	reads    float64    // s from one row of the picture to the next, down, and
	counted  float64    // what of that the times have counted already
	together float64    // of all frames at rest, and
	restU    float64    // what is stated of it, a standard uncertainty
	doubt    float64    // what is stated of the error that neighbouring frames share, off rest
	waves    [2]float64 // amplitudes, of cosine and sine, of the error between pixels
}

// draw draws what the frames share.
func (w *way) draw(r *rand.Rand) {
	w.together = w.restU * r.NormFloat64()
	w.waves = [2]float64{trace.PhaseU * r.NormFloat64(), trace.PhaseU * r.NormFloat64()}
}

// seen is how far the front is seen to have gone at a time from first motion, px.
func (w *way) seen(t float64) float64 {
	e := w.s.Expected
	return e.sense() * (w.rest - w.o.view.row(e.After(e.Motion.At(t).Height)))
}

// exposed is when a frame shows the front, and how far it has gone by then, px, given when the row
// of its place at rest was exposed: each row is by reads later than the one above. Iterated; the
// vehicle is slower than the rows are read, or the camera would not show it rightly.
func (w *way) exposed(t float64) (at, along float64) {
	at = t
	for range 12 {
		along = w.seen(at)
		at = t - w.reads*w.s.Expected.sense()*along
	}
	return at, along
}

// between is where between pixels the front is seen after so many px of way, as the trace says it:
// cosine and sine, less what blur takes away.
func (w *way) between(along, blur float64) noise.Phase {
	if blur >= 1 {
		return noise.Phase{}
	}
	left := 1.0
	if blur > 0 {
		left = math.Sin(math.Pi*blur) / (math.Pi * blur)
	}
	sin, cos := math.Sincos(2 * math.Pi * (w.rest - w.s.Expected.sense()*along))
	return noise.Phase{left * cos, left * sin}
}

// observe makes the observations, first motion a share of a frame interval after a frame. Of long
// flights every k-th frame counts, with the noise of their mean.
func (w *way) observe(in *motion.Input, scale *camera.Scale, phase float64, r *rand.Rand) {
	c, o, m := w.o.camera, w.o, w.s.Expected.Motion
	before, stampU, rec := restFrames, 0.0, c.recording()
	if c.Burst != nil {
		before, stampU = restStills, stillU
	}
	thin := max(1, int(math.Ceil(o.viewTime*o.Rate/mostFrames)))
	for i := -before; ; i++ {
		t := (float64(i*thin) + phase) / o.Rate
		if t > o.viewTime {
			return
		}
		at, along := w.exposed(t)
		if w.o.view.row(w.s.Expected.Front())-w.s.Expected.sense()*along < 0 {
			return // out of view before its row was read
		}
		said := t - w.counted*w.s.Expected.sense()*along // when the time base has it
		blur := o.Exposure * m.At(at).Speed / o.view.metresPerPixel(w.s.Expected.Front())
		u := math.Hypot(traceU*math.Hypot(1, blur/2)/math.Sqrt(float64(thin)), w.restU*noise.Leaving(along))
		between := w.between(along, blur)
		wrong := w.waves[0]*between[0] + w.waves[1]*between[1]
		doubt := w.doubt * trace.Farther(along)
		if along <= rec.held {
			doubt = 0 // seen at rest
			along, wrong = 0, wrong+w.together
			if n := len(in.Observations); rec.held > 0 && n > 0 { // a copy; only the first and the last of them tell
				in.Observations = in.Observations[:1]
				u = math.Hypot(u, trace.StillLag)
			}
		}
		along += wrong + u*r.NormFloat64()
		in.Observations = append(in.Observations, motion.Observation{Frame: i + before, T: said + stampU*r.NormFloat64(), UT: stampU,
			H: scale.Height(along), U: u * scale.MetresPerPixel(along), DoubtU: doubt * scale.MetresPerPixel(along), Phase: between})
	}
}

// correlate adds the error that neighbouring frames in flight share to the observations, of a size, a length and a kind drawn as package motion supposes
// them.
func correlate(obs []motion.Observation, r *rand.Rand) {
	moving := slices.IndexFunc(obs, func(o motion.Observation) bool { return o.DoubtU > 0 })
	if moving < 0 {
		return
	}
	var t, h []float64
	for _, o := range obs {
		t, h = append(t, o.T), append(h, o.H)
	}
	course := noise.NewCourse(t, h, moving)
	of := noise.Pick(noise.Hypotheses(true), r)
	for i, d := range of.Draw(course.Along(of), r) {
		obs[i].H += obs[i].DoubtU * d
	}
}
