package main

import (
	"errors"
	"fmt"
	"math"
	"os"

	"padside/desk"
	"padside/fault"
	"padside/metrology"
	"padside/motion"
)

// judge holds what a take was answered against the truth.
func (t *tally) judge(s *shot, m *desk.Measurement, err error, say func(format string, args ...any)) {
	t.Takes++
	if err != nil {
		var f *fault.Error
		if errors.As(err, &f) && f.Kind != fault.Failed {
			t.Refused++
		} else {
			t.Failed++
			fmt.Fprintf(os.Stderr, "%s failed: %v\n", s.take.Title, err)
		}
		say("refused: %v", err)
		return
	}
	answered, before := false, *t
	for _, a := range m.Sheet.Answers {
		truth, kind, ok := s.truth(m, a)
		if !ok {
			continue
		}
		if a.Status != metrology.Measured {
			t.Silent++
			continue
		}
		answered = true
		t.add(kind, truth, a, s.hz, say)
	}
	if lost := s.strayed(m); answered && lost != "" {
		if said := warned(m); said == "" {
			t.Unsaid++
			say("lost unsaid: %s", lost)
		} else {
			say("lost, as %s says: %s", said, lost)
		}
	}
	if !answered {
		t.Empty++
	}
	off := s.heights(m)
	if off.sound() {
		t.Sound, t.SoundHeld = t.Answers-before.Answers, t.Held-before.Held
	}
	say("%v", off)
	say("%s", s.places(m))
	say("warnings: %s", codes(m))
}

// add judges one answer.
func (t *tally) add(kind string, truth float64, a metrology.Answer, hz float64, say func(format string, args ...any)) {
	value, lo, hi := *a.Value, a.Interval[0], a.Interval[1]
	t.Answers++
	size := math.Abs(truth)
	if kind == instants {
		size = 1 / hz
	}
	if t.Widths == nil {
		t.Widths, t.Off = map[string][]float64{}, map[string][]float64{}
	}
	if width := (hi - lo) / 2 / size; size > 0 && !math.IsInf(width, 0) {
		t.Widths[kind] = append(t.Widths[kind], width)
	}
	if off := (value - truth) / ((hi - lo) / 2); !math.IsNaN(off) && !math.IsInf(off, 0) { // an interval without a width counts as missed alone
		t.Off[a.ID] = append(t.Off[a.ID], off)
	}
	if lo <= truth && truth <= hi {
		t.Held++
		return
	}
	half := value - lo
	if truth > value {
		half = hi - value
	}
	grave := math.Abs(truth-value) > 2*half
	word := "missed"
	if grave {
		t.Grave++
		word = "missed gravely"
	}
	say("%s: %s%s = %.5g [%.5g, %.5g], truth %.5g", word, a.ID, of(a), value, lo, hi, truth)
}

// Kinds of answers, by how their widths are counted.
const (
	speeds        = "speeds"
	accelerations = "accelerations"
	times         = "times"
	instants      = "instants" // in frames
)

// truth is the truth that an answer speaks of, SI, on the clock of the file: see clock. Peaks are those up to the last frame in which the vehicle was followed.
func (s *shot) truth(m *desk.Measurement, a metrology.Answer) (value float64, kind string, ok bool) {
	f := s.take.Flights[0]
	start := s.take.Scene.Vehicles[0].Start
	last, followed := s.lastSeen(m)
	shown := start + s.clock(last) // of the flight's time 0, on the file's clock
	speedAt := func(h float64) (float64, float64, bool) {
		at, ok := f.HeightReached(h)
		return at, f.At(at).Speed, ok
	}
	switch a.ID {
	case motion.FirstMotion:
		return shown + f.FirstMotion, instants, true
	case motion.TimeToSpeed:
		at, ok := f.SpeedReached(*a.Speed)
		return at - f.FirstMotion, times, ok
	case motion.MeanAccelerationToSpeed:
		at, ok := f.SpeedReached(*a.Speed)
		return *a.Speed / (at - f.FirstMotion), accelerations, ok
	case motion.PeakSpeed:
		if a.Bound != "" {
			return s.peakInView(m, 0, last), speeds, followed
		}
		_, v := f.PeakSpeed(last)
		return v, speeds, followed
	case motion.PeakAcceleration:
		if a.Window == nil {
			return 0, accelerations, followed // without a value
		}
		if a.Bound != "" {
			return s.peakInView(m, *a.Window, last), accelerations, followed
		}
		_, v := f.PeakAcceleration(*a.Window, last)
		return v, accelerations, followed
	case motion.GateCrossing:
		at, _, ok := speedAt(*a.Height)
		return shown + at, instants, ok
	case motion.GateSpeed:
		_, v, ok := speedAt(*a.Height)
		return v, speeds, ok
	case motion.SplitSpeed:
		from, _, ok1 := speedAt(*a.From)
		to, _, ok2 := speedAt(*a.To)
		return (*a.To - *a.From) / (to - from), speeds, ok1 && ok2
	case motion.AverageSpeed:
		from, to := s.trueTime(*a.FromFrame), s.trueTime(*a.ToFrame)
		return (f.At(to).Height - f.At(from).Height) / (to - from), speeds, true
	case motion.FreeFallAcceleration:
		return s.take.Gravity, accelerations, true
	}
	return 0, "", false // view_time depends on which point was traced
}

// peakInView is the highest speed, or with a window the highest mean acceleration over it, between
// the first frame in which the vehicle was followed and the last: what an answer that is a bound
// speaks of. It is looked for at a thousand instants.
func (s *shot) peakInView(m *desk.Measurement, window, last float64) float64 {
	f := s.take.Flights[0]
	first := s.trueTime(m.Lanes[0].Heights[0].Frame)
	value := f.At(first).Speed
	if window > 0 {
		value = math.Inf(-1)
	}
	for i := range 1001 {
		t := first + (last-first-window)*float64(i)/1000
		v := f.At(t).Speed
		if window > 0 {
			v = (f.At(t+window).Speed - v) / window
		}
		value = math.Max(value, v)
	}
	return value
}

// clock is what the file's clock shows at time 0 of the scene, s. Where frames are missing or put in, the clock is that of the picture in which a tenth of the way in view is
// behind; where stamps jitter or are rounded, that of their average.
func (s *shot) clock(last float64) float64 {
	sc, r := s.take.Scene, s.recording
	f, start := s.take.Flights[0], sc.Vehicles[0].Start
	way := f.At(last).Height
	off := func(k int) float64 { return r.Stamps[k] - sc.Stamps[r.Frames[k]] }
	at := 0
	for at < len(r.Frames)-1 && f.At(sc.Stamps[r.Frames[at]]-start).Height < 0.1*way {
		at++
	}
	var sum, n float64
	for k := range r.Frames {
		if d := off(k); math.Abs(d-off(at)) < 0.5/s.hz {
			sum, n = sum+d, n+1
		}
	}
	return sum/n - r.Stamps[0]
}

// way is how high the vehicle is in the last stored picture that shows it, m.
func (s *shot) way() float64 {
	way := 0.0
	for _, frame := range s.recording.Frames {
		if at := s.take.Scene.Truth(1, frame, s.take.Traced); at.InView {
			way = at.Height
		}
	}
	return way
}

// lastSeen is when the vehicle was last followed, s since the flight's time 0.
func (s *shot) lastSeen(m *desk.Measurement) (t float64, ok bool) {
	for _, l := range m.Lanes {
		if n := len(l.Heights); n > 0 {
			return s.trueTime(l.Heights[n-1].Frame), true
		}
	}
	return 0, false
}

// trueTime is when the vehicle was shown in a stored picture, s since the flight's time 0.
func (s *shot) trueTime(picture int) float64 {
	frame := s.recording.Frames[max(0, min(picture, len(s.recording.Frames)-1))]
	return s.take.Scene.Truth(1, frame, s.take.Traced).T - s.take.Scene.Vehicles[0].Start
}
