package main

import (
	"fmt"
	"os"

	"padside/motion"
	"padside/pairs"
)

// guarded is what pairs of places say against a fitted motion, empty for nothing: of simulated launches every word is a false alarm. What it withholds is
// withheld in a copy.
func guarded(in motion.Input, res *motion.Result) string {
	c := *res
	c.Answers, c.Draws = append(c.Answers[:0:0], c.Answers...), append(c.Draws[:0:0], c.Draws...)
	for _, w := range pairs.Guard(pairs.Input{Motion: &in, Places: in.Observations}, &c) {
		return w.Message
	}
	return ""
}

// alarms counts the traces of a class of which pairs of places speak against the motion.
type alarms struct{ traces, alarms int }

func (a *alarms) add(class string, seed int, words string) {
	if a.traces++; words != "" {
		a.alarms++
		fmt.Fprintf(os.Stderr, "false alarm %s seed %d: %s\n", class, seed, words)
	}
}
