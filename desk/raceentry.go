package desk

import (
	"context"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/motion"
	"padside/units"
)

// How many launches a race holds.
const (
	fewestRunners = 2
	mostRunners   = 8
)

// entry is a launch file, and the vehicle of it that takes part; 0: all.
type entry struct {
	path string
	lane int
	name string // of who or what races; empty: as the launch file has it
}

// raceEntries reads the names of those that take part: launch files, or one heat file. Of a heat only the entries count, not its
// rules; a heat that is raced on the passing of a gate gives the finish too.
func raceEntries(args []string) (list []entry, finish string, err error) {
	if len(args) == 1 && isHeat(args[0]) {
		return heatEntries(args[0])
	}
	for _, a := range args {
		list = append(list, entryOf(a))
	}
	return list, "", distinctEntries(list)
}

// entryOf reads one name: a file may have a colon in it.
func entryOf(name string) entry {
	if _, err := os.Stat(name); err != nil {
		if path, lane, ok := cutLane(name); ok {
			return entry{path: path, lane: lane}
		}
	}
	return entry{path: name}
}

// isHeat tells a heat file from a launch file: only that has entries.
func isHeat(path string) bool {
	text, err := logbook.ReadShort(path)
	if err != nil {
		return false
	}
	t, err := treeOf(text)
	return err == nil && t["entry"] != nil
}

func heatEntries(path string) (list []entry, finish string, err error) {
	h, err := logbook.ReadHeat(path)
	if err != nil {
		return nil, "", err
	}
	for _, e := range h.Entries {
		list = append(list, entry{e.Launch, e.Lane, e.Name})
	}
	if h.Question.Answer == motion.GateCrossing {
		if finish, err = units.Print(h.Question.At, units.Length); err != nil {
			return nil, "", err
		}
	}
	return list, finish, distinctEntries(list)
}

// distinctEntries refuses a vehicle named twice, and a number of entries that cannot race.
func distinctEntries(list []entry) error {
	places := make([]string, len(list))
	for i, e := range list {
		var err error
		if places[i], err = filepath.Abs(e.path); err != nil {
			return fault.Requestf("give the path of a launch file", "%s: %v", e.path, err)
		}
		for j, other := range list[:i] {
			if places[j] == places[i] && (other.lane == e.lane || other.lane == 0 || e.lane == 0) {
				return fault.Requestf("name each launch once", "%d and %d are the same launch, %s", j+1, i+1, e.path)
			}
		}
	}
	if len(list) == 0 || len(list) > mostRunners {
		return rightNumber(len(list))
	}
	return nil
}

// enough reads the launch files, so that what is wrong with them, or with their number, is said before any footage is followed.
func enough(list []entry) error {
	n := 0
	for _, e := range list {
		l, err := logbook.ReadLaunch(e.path)
		if err != nil {
			return err
		}
		if _, err := os.Stat(l.Footage.Path); err != nil && !strings.ContainsAny(l.Footage.Path, "*?[") {
			shot, err := footage.Open(context.Background(), l.Footage.Path, footage.Options{}) // to say what is wrong
			if err != nil {
				return about(e.path, err)
			}
			shot.Close()
		}
		n += max(1, l.Trace.Lanes)
		if e.lane > 0 {
			n += 1 - max(1, l.Trace.Lanes)
		}
	}
	return rightNumber(n)
}

func rightNumber(n int) error {
	switch {
	case n < fewestRunners:
		return tooFew(n)
	case n > mostRunners:
		return tooMany(n)
	}
	return nil
}

// cutLane cuts ":2" off a path.
func cutLane(s string) (path string, lane int, ok bool) {
	i := strings.LastIndexByte(s, ':')
	if i < 1 {
		return s, 0, false
	}
	n, err := strconv.Atoi(s[i+1:])
	return s[:i], n, err == nil && n > 0
}

func tooFew(n int) error {
	return fault.Requestf("name two to eight launch files; footage with several vehicles counts as one launch for each",
		"a race takes at least %d launches; here %s", fewestRunners, map[bool]string{true: "is one", false: "is none"}[n == 1])
}

func tooMany(n int) error {
	return fault.Requestf("leave some out, or race them in heats; LAUNCH.toml:2 takes only the second vehicle of its footage",
		"a race shows at most %d launches side by side; here are %d", mostRunners, n)
}
