package shoot

import (
	"context"
	"strings"
	"testing"

	"padside/camera"
	"padside/motion"
)

// clubDay is a shoot of an invented club: a bottle that pulls 50 g.
func clubDay(questions ...Question) *Shoot {
	return &Shoot{
		Cameras: []Camera{{Name: "fast", PixelPitch: 6.6e-6, Modes: []Mode{{1920, 1080, 1000}}, Shortest: 5e-6, Longest: 0.01, LowestISO: 500, HighestISO: 8000, Memory: 16000}},
		Lens:    Lens{FocalLength: 0.025, Widest: 1.4},
		Place:   Place{Range: camera.Measured{Value: 6, U: 0.01, Given: true}, Height: 0.6, Tilt: 0.0873, TiltGiven: true, Rotated: true},
		Light:   14, Reference: Reference{Kind: camera.KindRod, Length: 2, Marks: 6, Range: camera.Measured{Value: 5.8, U: 0.01, Given: true}},
		Expected:  Expected{Motion: Even{Pull: 500, Top: 35}, Length: 0.42},
		Questions: questions,
	}
}

func forecast(t *testing.T, s *Shoot) (*Option, Forecast) {
	t.Helper()
	p, err := s.Plan(context.Background(), 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p.Options[0], p.Options[0].Questions[0]
}

// What is asked more of than the footage gives is refused with what limits it; the same question asked for less is granted.
func TestVerdicts(t *testing.T) {
	t.Parallel()
	q := Question{Answer: "time_to_speed", Speed: 26.8224, Within: 0.05}
	o, loose := forecast(t, clubDay(q))
	if loose.Verdict != Yes || *loose.HalfWidth > 0.05 || *loose.HalfWidth < 0.001 || o.FramesInView < 50 {
		t.Errorf("%+v, %d frames", loose, o.FramesInView)
	}
	q.Within = *loose.HalfWidth / 1.2
	if _, near := forecast(t, clubDay(q)); near.Verdict != Marginal || near.Change == "" {
		t.Errorf("%+v", near)
	}
	q.Within = *loose.HalfWidth / 2
	if _, strict := forecast(t, clubDay(q)); strict.Verdict != No || strict.Change == "" || !strings.Contains(strict.Reason, "of the variance is") {
		t.Errorf("%+v", strict)
	}
}

// A worse shoot never foresees a narrower interval: distances that are not known, half the frames.
func TestWorseIsWider(t *testing.T) {
	t.Parallel()
	q := Question{Answer: "gate_speed", Height: 1, Within: 0.05}
	_, good := forecast(t, clubDay(q))
	unknown := clubDay(q)
	unknown.Reference.Range = camera.Measured{}
	_, worse := forecast(t, unknown)
	if *worse.HalfWidth < 1.1**good.HalfWidth {
		t.Errorf("distances not known: %g, known: %g", *worse.HalfWidth, *good.HalfWidth)
	}
}

// What the footage cannot show is said with what would show it.
func TestSilence(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		change func(*Shoot)
		ask    Question
		reason string
		help   string
	}{
		"too high":    {func(*Shoot) {}, Question{Answer: "gate_speed", Height: 9, Within: 1}, "the view ends", "stand about"},
		"never":       {func(*Shoot) {}, Question{Answer: "time_to_speed", Speed: 50, Within: 1}, "never gets there", "check the expected motion"},
		"slow camera": {func(s *Shoot) { s.Cameras[0].Modes[0].Rate = 15 }, Question{Answer: "time_to_speed", Speed: 26, Within: 0.1}, "frames in flight are too few", "a rate of"},
		"dark":        {func(s *Shoot) { s.Light = 2 }, Question{Answer: "peak_speed", Within: 0.1}, "too dark", "more light"},
		"aimed high":  {func(s *Shoot) { s.Place.Tilt = 0.6 }, Question{Answer: "peak_speed", Within: 0.1}, "at rest is not in view", "aim lower"},
		"no marks":    {func(s *Shoot) { s.Reference.Length = 40 }, Question{Answer: "peak_speed", Within: 0.1}, "marks of the rod are in view", ""},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := clubDay(c.ask)
			c.change(s)
			if _, f := forecast(t, s); f.Verdict != No || f.HalfWidth != nil || !strings.Contains(f.Reason, c.reason) || !strings.Contains(f.Change, c.help) {
				t.Errorf("%+v", f)
			}
		})
	}
}

// Distances are those of a published code or none: a bottle's, the more so of high pressure, and a camera inside it is warned of; for a motor, and for what nobody
// knows, the words to ask. They are the same however the motion is given.
func TestStandOff(t *testing.T) {
	t.Parallel()
	codes := func(e Expected) (off *float64, codes, words string) {
		s := clubDay(Question{Answer: Pictures, Count: 1})
		s.Expected = e
		p, err := s.Plan(context.Background(), 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range p.Warnings {
			codes, words = codes+" "+w.Code, words+w.Message
		}
		return p.StandOff, codes, words
	}
	pull := Even{Pull: 90, Top: 60}
	bottle, said, _ := codes(Expected{Motion: pull, Length: 0.5, Kind: motion.Bottle})
	if bottle == nil || *bottle < 12 || !strings.Contains(said, "inside-stand-off") || !strings.Contains(said, "pressurised") {
		t.Errorf("bottle: %v,%s", bottle, said)
	}
	if low := (Expected{Kind: motion.Bottle, Pressure: 3e5}).StandOff(); *low >= *bottle {
		t.Errorf("at 3 bar %g m", *low)
	}
	for _, kind := range []motion.Kind{motion.Motor, motion.AnyKind} {
		off, said, words := codes(Expected{Motion: pull, Length: 1.2, Kind: kind})
		if off != nil || !strings.Contains(words, "range safety officer") || !strings.Contains(words, "local code") {
			t.Errorf("%q: %v, %s", kind, off, words)
		}
		if unknown := kind == motion.AnyKind; strings.Contains(said, "pressurised") != unknown {
			t.Errorf("%q: cautions%s", kind, said)
		}
	}
	if off, _, words := codes(Expected{Motion: Even{Pull: 9.8, Top: 50}, Length: 0.07, Kind: motion.Dropped, Height: 1.5}); off != nil || !strings.Contains(words, "below what is dropped") {
		t.Errorf("drop: %v, %s", off, words)
	}
}

// A rolling shutter, or one that is not stated, is advised of where the camera does not lie on its side.
func TestShutterAdvice(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		shutter string
		rotated bool
		advice  string
	}{{Rolling, false, "is rolling"}, {"", false, "may be rolling"}, {Global, false, ""}, {Rolling, true, ""}, {"", true, ""}} {
		got := Camera{Shutter: c.shutter}.advice(Place{Rotated: c.rotated})
		if (c.advice == "") != (got == "") || !strings.Contains(got, c.advice) {
			t.Errorf("%q, rotated %v: %q", c.shutter, c.rotated, got)
		}
	}
}

// A shutter that is not stated costs a camera that stands on its feet, not one that lies on its side: there half widths are those of a global shutter.
func TestUnknownShutterIsWider(t *testing.T) {
	t.Parallel()
	half := func(shutter string, rotated bool) float64 {
		s := clubDay(Question{Answer: "gate_speed", Height: 0.4, Within: 0.05})
		c := &s.Cameras[0]
		c.Shutter, c.Modes = shutter, []Mode{{1920, 1080, 240}}
		s.Place.Rotated = rotated
		s.Place.Lean = camera.Measured{U: 0.005, Given: true}
		_, f := forecast(t, s)
		if f.HalfWidth == nil {
			t.Fatalf("%q, rotated %v: %+v", shutter, rotated, f)
		}
		return *f.HalfWidth
	}
	if stated, unknown := half(Global, false), half("", false); unknown < 1.5*stated {
		t.Errorf("not stated: %g, global: %g", unknown, stated)
	}
	if stated, unknown := half(Global, true), half("", true); unknown != stated {
		t.Errorf("on its side, not stated: %g, global: %g", unknown, stated)
	}
}
