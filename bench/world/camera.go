package main

import (
	"fmt"
	"math"
	"slices"

	"padside/scene"
	"padside/timebase"
)

// timed states the clip's times as a user would: the true rate of slow motion, nothing of a clip that plays as it was filmed.
func (s *shot) timed(c chance) {
	if s.hz >= 120 {
		s.rated(c)
	}
}

// bright is a camera about which everything is stated: a global shutter, a short exposure.
func bright(c chance, s *shot) {
	s.exposed(c, 0.02, 0.35)
	s.timed(c)
}

// shutterRolls draws how long a picture is read, as a share of the frame time, and from which side: a picture that is wider than high from the top, or the bottom where the
// camera stood on its head; one that is higher than wide by columns, as an upright phone does.
func (s *shot) shutterRolls(c chance) {
	cam := &s.take.Scene.Camera
	cam.Readout = pick(c, scene.FromTop, scene.FromTop, scene.FromBottom)
	if cam.Height > cam.Width {
		cam.Readout = pick(c, scene.FromLeft, scene.FromRight)
	}
	cam.RowTime = c.between(0.1, 0.98) / s.hz / float64(cam.Lines())
	s.clip.Turned = cam.Readout.Turned()
	s.said.shutter = ""
}

// rolling says nothing of the shutter. One clip in five was turned by a program on its way, and tells nothing of how it was stored.
func rolling(c chance, s *shot) {
	bright(c, s)
	s.shutterRolls(c)
	if c.often(0.2) {
		s.clip.Turned = 0
	}
}

// rollingStated states the row time 4 % off, and that.
func rollingStated(c chance, s *shot) {
	bright(c, s)
	s.shutterRolls(c)
	row := 1e6 * s.take.Scene.Camera.RowTime
	off := 0.04 * row
	s.said.shutter, s.said.rowTime = "rolling", fmt.Sprintf("%.4f(%.4f) us", row+off*c.NormFloat64(), off)
}

// clearlyMoved is how far (px) the vehicle has gone when a picture that is lost can be told from one that is lost at rest.
const clearlyMoved = 5

// inFlight are n different pictures of the flight, first to last, after the vehicle was seen to move. What is lost before that nobody can tell: first motion would be as much later.
// None lies where the clock is fixed, about a tenth of the way (see clock), or it could be either side of that.
func (s *shot) inFlight(c chance, n int) []int {
	sc, way := s.take.Scene, s.way()
	rest := sc.Truth(1, 0, s.take.Traced).Steady
	var from []int
	for k := 1; k < len(s.recording.Frames)-3; k++ {
		before, at := sc.Truth(1, k-1, s.take.Traced), sc.Truth(1, k, s.take.Traced)
		fixed := before.Height < 0.16*way && at.Height > 0.06*way
		if p := before.Steady; math.Hypot(p.X-rest.X, p.Y-rest.Y) > clearlyMoved && !fixed {
			from = append(from, k)
		}
	}
	var out []int
	for range n {
		if len(from) > 0 {
			out = append(out, pick(c, from...))
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// lost drops one to three pictures, or one in thirty. Stamps go on evenly.
func lost(c chance, s *shot) {
	n := pick(c, 1, 1, 2, 3, len(s.recording.Frames)/30)
	for i, k := range s.inFlight(c, max(1, n)) {
		s.recording.Lose(k - i)
	}
}

// repeated stores pictures twice: in place of ones that were lost, or beside all others.
func repeated(c chance, s *shot) {
	frozen := c.often(0.6)
	for i, k := range s.inFlight(c, pick(c, 1, 1, 2, 3)) {
		if frozen {
			s.recording.Freeze(k)
		} else {
			s.recording.Insert(k + i)
		}
	}
}

// stamped is a clip that plays as it was filmed.
func stamped(c chance, s *shot) { s.exposed(c, 0.02, 0.35) }

// unsteady is a phone whose frame time varies, from frame to frame and slowly with the light, and whose stamps say so.
func unsteady(c chance, s *shot) {
	sc := s.take.Scene
	sd, swing, period := c.scaled(0.2e-3, 2.5e-3), c.between(0, 0.12), c.between(0.4, 2)
	sd = math.Min(sd, 0.15/s.hz)
	t, phase := 0.0, c.between(0, 6)
	for i := range sc.Stamps {
		sc.Stamps[i] = t + sd*math.Max(-2, math.Min(2, c.NormFloat64()))
		t += (1 + swing*math.Sin(2*math.Pi*t/period+phase)) / s.hz
	}
	for i := len(sc.Stamps) - 1; i >= 0; i-- {
		sc.Stamps[i] -= sc.Stamps[0]
	}
	s.recording = scene.Record(sc)
}

// jittered is such a phone, each of whose stamps errs, as of a clock that is read late.
func jittered(c chance, s *shot) {
	unsteady(c, s)
	s.recording.Jitter(math.Min(c.scaled(0.5e-3, 4e-3), 0.2/s.hz), c.Uint64())
}

// coarse rounds stamps: to milliseconds, or of slow clips to 1/90 s.
func coarse(c chance, s *shot) {
	tick := 1e-3
	if s.hz <= 60 && c.often(0.4) {
		tick = 1. / 90
	}
	s.recording.Round(tick)
}

// playback leaves slow motion at the times at which it plays.
func playback(c chance, s *shot) {
	s.said.basis, s.said.rate = "", ""
	s.clip.Playback = pick(c, 24., 25, 30, 30)
}

func unexposed(c chance, s *shot) {
	s.exposed(c, 0.02, 0.95)
	s.said.exposure = ""
	s.timed(c)
}

// metered is automatic exposure: one to three steps, and drift in between.
func metered(c chance, s *shot) {
	bright(c, s)
	at, gain := 0.0, 1.0
	for range 1 + c.IntN(4) {
		at += c.between(5, 60) / s.hz
		turn := scene.Turn{At: at, Over: pick(c, 0, 0, c.between(3, 40)/s.hz), Gain: math.Max(0.5, math.Min(1.8, gain*c.scaled(0.65, 1.5)))}
		s.take.Scene.Metering = append(s.take.Scene.Metering, turn)
		at, gain = at+turn.Over, turn.Gain
	}
}

// mains is a hall lit by lamps: no sun, no sky. Half of the shutters roll, as stated, so that bands appear.
func mains(c chance, s *shot) {
	if c.often(0.5) {
		rollingStated(c, s)
	} else {
		bright(c, s)
	}
	sc := s.take.Scene
	sc.Mains = scene.Mains{Hz: pick(c, 100., 120), Depth: c.between(0.1, 0.75), Phase: c.Float64()}
	sc.Light.Overcast, sc.Light.Warmth, sc.Wind = 1, 0, 0
	sc.Backdrop.Trees, sc.Backdrop.Beyond = c.between(8, 14), c.between(20, 30)
}

// backlit is a sun behind the vehicle: that is dark, the sky is bright, and the lens spreads light over all.
func backlit(c chance, s *shot) {
	bright(c, s)
	l := &s.take.Scene.Light
	l.Azimuth, l.Height, l.Overcast = math.Pi+c.between(-0.6, 0.6), c.between(0.08, 0.7), c.between(0, 0.3)
	l.Glare, l.Exposure = c.between(0.3, 1), c.between(0.9, 1.7)
}

// rodFar stands the rod well before or behind the flight line, with distances stated.
func rodFar(c chance, s *shot) {
	bright(c, s)
	sc := s.take.Scene
	k := pick(c, c.between(0.6, 0.88), c.between(1.12, 1.6))
	sc.Rod.Range, sc.Rod.Across = sc.Rod.Range*k, sc.Rod.Across*k
	sc.Rod.Length = math.Ceil(sc.Rod.Length*k/sc.Rod.Band) * sc.Rod.Band
	s.states(c)
}

func long(c chance, s *shot) {
	s.exposed(c, 0.45, 0.9)
	s.timed(c)
}

// few are three to eight stills of which the times are known, the first before the launch or not.
func few(c chance, s *shot) {
	sc := s.take.Scene
	n := 3 + c.IntN(6)
	last := sc.LastInView(1, s.take.Traced)
	step := math.Min(1/s.hz, (last-sc.Vehicles[0].Start)/float64(n-1))
	begin := math.Max(0, last-float64(n-1)*step-c.between(0, 0.5)*step)
	sc.Stamps = nil
	for i := range n {
		sc.Stamps = append(sc.Stamps, begin+(float64(i)+c.between(-0.1, 0.1))*step)
	}
	s.recording = scene.Record(sc)
	s.stills, s.said.basis, s.said.rate = true, string(timebase.List), ""
	for _, t := range sc.Stamps {
		s.said.times = append(s.said.times, t-sc.Stamps[0])
	}
	sc.Camera.Exposure = c.scaled(1./4000, 1./500)
	s.said.exposure = fmt.Sprintf("%.4g s", sc.Camera.Exposure)
	s.averages(0)
	s.said.byHand = c.often(0.5)
}

// averages asks for the average speed from a picture to the last that shows the vehicle, and between the last two.
func (s *shot) averages(from int) {
	last := 0
	for k, frame := range s.recording.Frames {
		if s.take.Scene.Truth(1, frame, s.take.Traced).InView {
			last = k
		}
	}
	s.said.averages = [][2]int{{from, last}}
	if last-1 > from {
		s.said.averages = append(s.said.averages, [2]int{last - 1, last})
	}
}

// cut leaves the pictures before the vehicle is well in flight out.
func cut(c chance, s *shot) {
	sc := s.take.Scene
	start := sc.Vehicles[0].Start + s.take.Flights[0].FirstMotion
	last := sc.LastInView(1, s.take.Traced)
	from := start + c.between(0.1, 0.45)*(last-start)
	k := int(math.Ceil(from * s.hz))
	if left := len(sc.Stamps) - k; left < 5 {
		k = max(int(start*s.hz)+2, len(sc.Stamps)-5)
	}
	s.recording.Frames, s.recording.Stamps = s.recording.Frames[k:], s.recording.Stamps[k:]
	s.averages(1)
}
