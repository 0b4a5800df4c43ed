package shoot

import (
	"context"
	"strings"
	"testing"

	"padside/camera"
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

// The camera inside the stand-off is warned of, the more so of high pressure.
func TestStandOff(t *testing.T) {
	t.Parallel()
	s := clubDay(Question{Answer: Pictures, Count: 1})
	p, err := s.Plan(context.Background(), 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, w := range p.Warnings {
		found = found || w.Code == "inside-stand-off"
	}
	if !found || p.StandOff < 12 {
		t.Errorf("stand-off %g m, warnings %v", p.StandOff, p.Warnings)
	}
	if low := (Expected{Kind: "bottle", Pressure: 3e5}).StandOff(); low >= p.StandOff {
		t.Errorf("at 3 bar %g m", low)
	}
}
