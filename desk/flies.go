package desk

import (
	"padside/logbook"
	"padside/motion"
)

// flies is what flies, as far as a launch file says: by its kind, else by conditions that only one kind has. Where those speak
// of both, or of neither, it is left to the trace.
func flies(l *logbook.Launch) motion.Kind {
	if l.Kind != "" {
		return motion.Kind(l.Kind)
	}
	k := motion.AnyKind
	for _, c := range l.Conditions {
		of := motion.AnyKind
		switch c.Key {
		case "water":
			of = motion.Bottle
		case "propellant_mass", "total_impulse", "impulse", "motor":
			of = motion.Motor
		default:
			continue
		}
		if k != motion.AnyKind && k != of {
			return motion.AnyKind
		}
		k = of
	}
	return k
}
