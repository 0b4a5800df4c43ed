package desk

import (
	"testing"

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
