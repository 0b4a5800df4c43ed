package desk

import (
	"fmt"
	"hash/fnv"

	"padside/logbook"
)

// setupSeed is the same for launches that name the same setup, so that what they share is drawn alike. A launch without one goes by its footage
// (digest), wherever its file lies and however that is named.
func setupSeed(l *logbook.Launch, digest string, seed uint64) uint64 {
	if l.Setup != "" {
		return seedOf(l.Setup) ^ seed
	}
	return seedOf("footage "+digest) ^ seed
}

// pathSeed is that of what a launch shares with no other: the errors of its trace, its lean. It goes by what was filmed and which part of that is
// the launch, so that a launch has the same draws, and to the last digit the same answers, whether it is measured alone, compared, raced or in a
// heat, and two launches never have the same.
func pathSeed(l *logbook.Launch, lane int, digest string, seed uint64) uint64 {
	text := fmt.Sprintf("path %s %d %d %d %v", digest, lane, l.Footage.From, l.Footage.To, l.Trace.Box)
	if !l.Trace.Follow && len(l.Trace.Marks) > 0 { // which vehicle it is, the marks alone say
		text += fmt.Sprint(l.Trace.Marks[0])
	}
	return seedOf(text) ^ seed
}

// seedOf is the FNV-1a hash of a text.
func seedOf(text string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(text))
	return h.Sum64()
}
