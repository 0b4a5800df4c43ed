package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"padside/desk"
	"padside/trace"
)

// A trace has strayed where more than strayShare of its places are off by more than strayPixels and half of the vehicle's length, and has ended early where it misses the
// last lateShare of the frames in which the vehicle moved wholly in view.
const (
	strayShare  = 0.04
	strayPixels = 6.0
	lateShare   = 0.12
)

// strayed says how the trace left the vehicle; "" where it did not. Places are held against the vehicle's nose less what the median place lies from it, so that any
// part of the vehicle may be followed.
func (s *shot) strayed(m *desk.Measurement) string {
	if len(m.Lanes) == 0 {
		return ""
	}
	p := &m.Lanes[0].Path
	sc, v := s.take.Scene, &s.take.Scene.Vehicles[0]
	along := func(frame int, at float64) float64 {
		q := sc.Truth(1, frame, at).Steady
		return q.X*p.Line.Ux + q.Y*p.Line.Uy
	}
	var off []float64
	var size float64
	for _, q := range p.Points {
		frame := s.recording.Frames[min(q.Frame, len(s.recording.Frames)-1)]
		off = append(off, q.X*p.Line.Ux+q.Y*p.Line.Uy-along(frame, v.Length))
		size = math.Max(size, math.Abs(along(frame, v.Length)-along(frame, 0)))
	}
	if len(off) == 0 {
		return "nothing was followed"
	}
	middle := median(slices.Clone(off))
	limit, far, worst := math.Max(strayPixels, size/2), 0, 0.0
	for _, e := range off {
		if math.Abs(e-middle) > limit {
			far++
		}
		worst = math.Max(worst, math.Abs(e-middle))
	}
	if float64(far) > strayShare*float64(len(off)) {
		return fmt.Sprintf("%d of %d places are off by more than %.0f px, up to %.0f", far, len(off), limit, worst)
	}
	return s.endedEarly(p)
}

// endedEarly says whether frames are missing at the end of the trace in which the whole vehicle was moving in view.
func (s *shot) endedEarly(p *trace.Path) string {
	sc, v := s.take.Scene, &s.take.Scene.Vehicles[0]
	moving, missed := 0, 0
	for k, frame := range s.recording.Frames {
		nose, tail := sc.Truth(1, frame, v.Length), sc.Truth(1, frame, 0)
		if !nose.InView || !tail.InView || nose.Height <= 0 {
			continue
		}
		moving++
		if k > p.Points[len(p.Points)-1].Frame {
			missed++
		}
	}
	if missed > 1 && float64(missed) > lateShare*float64(moving) {
		return fmt.Sprintf("the last %d of %d frames of the flight in view were not followed", missed, moving)
	}
	return ""
}

// warned is the first warning of the trace, or of what disagrees with it; "" where there is none.
func warned(m *desk.Measurement) string {
	for _, w := range m.Sheet.Warnings {
		if strings.HasPrefix(w.Code, "trace-") || w.Code == "frames-off-path" || strings.HasPrefix(w.Code, "too-") {
			return w.Code
		}
	}
	return ""
}

// codes are those of all warnings of a measurement, each once.
func codes(m *desk.Measurement) string {
	var all []string
	for _, w := range m.Sheet.Warnings {
		if !slices.Contains(all, w.Code) {
			all = append(all, w.Code)
		}
	}
	return strings.Join(all, " ")
}
