package main

import (
	"bytes"
	"fmt"
	"strings"

	"padside/scene"
)

// said is what the launch file states beside its marks. What is empty is not stated.
type said struct {
	kind, basis, rate, exposure, rowTime, shutter string
	rodRange, flightRange, lean                   string
	times                                         []float64 // s
	averages                                      [][2]int  // pictures between which an average speed is asked for
	byHand                                        bool      // the nose is marked by hand in each picture that shows it
}

// markNoise is how far, 1 sigma in px, a hand misplaces a mark along either axis.
const markNoise = 0.5

// states draws what a careful user states, with the errors of what is stated: distances by tape to a centimetre or by steps to some percent, marks by hand.
func (s *shot) states(c chance) {
	sc := s.take.Scene
	v := sc.Vehicles[0]
	near := v.Range - v.Diameter/2
	u := pick(c, 0.01+0.001*near, 0.004*near, 0.01*near)
	s.said.rodRange = about(c, sc.Rod.Range, u)
	s.said.flightRange = about(c, near, u)
	if c.often(0.6) {
		s.said.kind = s.kind
	}
	s.said.shutter = "global"
	s.clip.CRF, s.clip.BFrames = 16+c.IntN(9), pick(c, 0, 2)
	switch {
	case c.often(0.1):
		s.clip.Codec, s.clip.CRF = "mjpeg", 2+c.IntN(4)
	case c.often(0.12):
		s.clip.Codec, s.clip.CRF = "libx265", 18+c.IntN(9)
	}
}

// about is a length that was measured with a standard uncertainty u, m.
func about(c chance, true, u float64) string {
	return fmt.Sprintf("%.4f(%.4f) m", true+u*c.NormFloat64(), u)
}

// rated states the true rate, as for slow motion, which half of the time is stored to be played at 30 Hz.
func (s *shot) rated(c chance) {
	s.said.basis, s.said.rate = "rate", fmt.Sprintf("%g Hz", s.hz)
	if c.often(0.5) {
		s.clip.Playback = 30
	}
}

// exposed draws an exposure as a share of the frame time and states it.
func (s *shot) exposed(c chance, lo, hi float64) {
	cam := &s.take.Scene.Camera
	cam.Exposure = c.scaled(lo, hi) / s.hz
	s.said.exposure = fmt.Sprintf("%.4g s", cam.Exposure)
}

// footage is the take's footage, by its path in its folder.
func (s *shot) footage() string {
	if s.stills {
		return "stills"
	}
	return "take.mp4"
}

// launchText is the launch file.
func (s *shot) launchText() []byte {
	var b bytes.Buffer
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	key := func(name, value string) {
		if value != "" {
			line("%s = %q", name, value)
		}
	}
	line("format = 1\ntitle = %q\nvehicle = %q", s.take.Title, s.take.Vehicles[0])
	key("kind", s.said.kind)
	line("\n[footage]\npath = %q\n\n[footage.time]", s.footage())
	key("basis", s.said.basis)
	key("rate", s.said.rate)
	key("exposure", s.said.exposure)
	key("row_time", s.said.rowTime)
	key("shutter", s.said.shutter)
	if s.said.times != nil {
		line("times = [%s]", list(s.said.times, "%.6f"))
	}
	line("\n[scale]\nkind = \"rod\"\nmark_uncertainty = \"%g px\"", markNoise)
	key("rod_range", s.said.rodRange)
	key("flight_range", s.said.flightRange)
	key("lean", s.said.lean)
	line("marks = [")
	for _, m := range s.placed() {
		line("  { at = \"%.4f m\", x = %.2f, y = %.2f },", m.At, m.X, m.Y)
	}
	line("]")
	s.handMarks(line)
	line("\n[questions]\nspeeds = [%s]\ngates = [%s]", list(s.take.Speeds, `"%.6g m/s"`), list(s.take.Gates, `"%.6g m"`))
	if s.kind == "drop" {
		line("drop_check = true")
	}
	if s.said.averages != nil {
		var pairs []string
		for _, p := range s.said.averages {
			pairs = append(pairs, fmt.Sprintf("{ from = %d, to = %d }", p[0], p[1]))
		}
		line("average_speeds = [ %s ]", strings.Join(pairs, ", "))
	}
	return b.Bytes()
}

// handMarks writes where a hand placed the nose, and that nothing is to be followed.
func (s *shot) handMarks(line func(format string, args ...any)) {
	if !s.said.byHand {
		return
	}
	var seen []scene.Mark
	var at []int
	for k, frame := range s.recording.Frames {
		if p := s.take.Scene.Truth(1, frame, s.take.Traced); p.InView {
			seen, at = append(seen, scene.Mark{Pixel: p.Pixel}), append(at, k)
		}
	}
	line("\n[trace]\nfollow = false\nmarks = [")
	for i, m := range scene.Perturb(seen, 2*markNoise, s.take.Scene.Seed+1) {
		line("  { frame = %d, x = %.2f, y = %.2f, u = \"%g px\" },", at[i], m.X, m.Y, 2*markNoise)
	}
	line("]")
}

// placed are the rod's marks as a hand placed them.
func (s *shot) placed() []scene.Mark {
	return scene.Perturb(scene.Thin(s.take.Scene.Marks(), 4+int(s.take.Scene.Seed%6)), markNoise, s.take.Scene.Seed)
}

func list(values []float64, format string) string {
	var out []string
	for _, v := range values {
		out = append(out, fmt.Sprintf(format, v))
	}
	return strings.Join(out, ", ")
}
