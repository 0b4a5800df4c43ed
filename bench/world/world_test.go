package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"testing"

	"padside/metrology"
	"padside/motion"
)

// Every class draws what can be measured: marks in view, a vehicle that is seen moving, stamps that rise, and the same from the same seed.
func TestClassesDraw(t *testing.T) {
	t.Parallel()
	keys := map[string]bool{}
	for _, k := range classes() {
		if keys[k.key] {
			t.Errorf("two classes have the key %s", k.key)
		}
		keys[k.key] = true
		for seed := range uint64(8) {
			s, again := k.draw(seed), k.draw(seed)
			name := fmt.Sprintf("%s, seed %d", k.key, seed)
			if !bytes.Equal(s.launchText(), again.launchText()) || s.words() != again.words() {
				t.Errorf("%s: another take from the same seed", name)
			}
			sc, r := s.take.Scene, s.recording
			if n := len(s.placed()); n < 3 {
				t.Errorf("%s: %d marks, want 3 or more", name, n)
			}
			if len(r.Frames) != len(r.Stamps) || len(r.Frames) < 3 || len(r.Frames) > most+3 { // pictures are stored twice
				t.Errorf("%s: %d pictures with %d stamps", name, len(r.Frames), len(r.Stamps))
			}
			moving := 0
			for i, frame := range r.Frames {
				if i > 0 && r.Stamps[i] <= r.Stamps[i-1] {
					t.Errorf("%s: stamp %d is %g after %g", name, i, r.Stamps[i], r.Stamps[i-1])
				}
				if at := sc.Truth(1, frame, s.take.Traced); at.InView && at.Height > 0 {
					moving++
				}
			}
			if moving < 3 {
				t.Errorf("%s: seen moving in %d pictures, want 3 or more (%s)", name, moving, s.words())
			}
			if first := sc.Truth(1, r.Frames[0], s.take.Traced); !first.InView || k.key != "cut" && k.key != "stills" && first.Height != 0 {
				t.Errorf("%s: not in view at rest in the first picture", name)
			}
		}
	}
}

// What counts as held, missed and grave, on either side of an interval that is not even.
func TestTallyAdds(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		truth       float64
		held, grave int
	}{{10, 1, 0}, {9, 1, 0}, {14, 1, 0}, {8.5, 0, 0}, {8, 0, 0}, {7.9, 0, 1}, {17.9, 0, 0}, {18.1, 0, 1}} {
		value := 10.0
		var got tally
		got.add(speeds, c.truth, metrology.Answer{ID: "peak_speed", Value: &value, Interval: &[2]float64{9, 14}}, 100, func(string, ...any) {})
		if got.Answers != 1 || got.Held != c.held || got.Grave != c.grave {
			t.Errorf("truth %g of 10 in [9, 14]: held %d, grave %d, want %d, %d", c.truth, got.Held, got.Grave, c.held, c.grave)
		}
	}
}

// An interval without a width is a grave miss like any other, and the counts can still be written.
func TestIntervalWithoutWidthIsCounted(t *testing.T) {
	t.Parallel()
	var c tally
	zero := 0.0
	c.add(times, 0.2, metrology.Answer{ID: motion.TimeToSpeed, Value: &zero, Interval: &[2]float64{0, 0}}, 240, func(string, ...any) {})
	if _, err := json.Marshal(&c); err != nil || c.Answers != 1 || c.Held != 0 || c.Grave != 1 {
		t.Errorf("%+v, %v", c, err)
	}
}
