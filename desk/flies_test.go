package desk

import (
	"testing"

	"padside/camera"
	"padside/logbook"
	"padside/motion"
)

func TestConditionsTellWhatFlies(t *testing.T) {
	for _, c := range []struct {
		kind string
		keys []string
		want motion.Kind
	}{
		{"", nil, motion.AnyKind},
		{"", []string{"wind", "dry_mass"}, motion.AnyKind},
		{"", []string{"dry_mass", "water"}, motion.Bottle},
		{"", []string{"propellant_mass", "total_impulse"}, motion.Motor},
		{"", []string{"water", "motor"}, motion.AnyKind},
		{"drop", []string{"water"}, motion.Dropped},
	} {
		l := &logbook.Launch{Kind: c.kind}
		for _, k := range c.keys {
			l.Conditions = append(l.Conditions, logbook.Condition{Key: k})
		}
		if got := flies(l); got != c.want {
			t.Errorf("kind %q, conditions %v: %q flies, want %q", c.kind, c.keys, got, c.want)
		}
	}
}

// Copies of the rest are left out but for the last; a copy that has moved stays.
func TestCopiesThatMoveSaySomething(t *testing.T) {
	s := seen{line: camera.FlightLine{Ux: 0, Uy: -1}}
	for i, h := range []float64{0, 0.001, 0, 0.002, 0.06, 0.2, 0.4, 0.7} {
		s.spots = append(s.spots, spot{frame: i, y: -h, copy: i > 0 && i < 7})
	}
	want := []bool{true, false, false, true, true, true, true, true}
	for i := range s.spots {
		if got := s.says(i); got != want[i] {
			t.Errorf("frame %d at %.3f px: says something %v, want %v", i, -s.spots[i].y, got, want[i])
		}
	}
}
