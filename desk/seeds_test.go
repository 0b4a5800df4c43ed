package desk

import (
	"testing"

	"padside/logbook"
)

// TestSeeds: what launches share is drawn alike, what they do not share never is.
func TestSeeds(t *testing.T) {
	t.Parallel()
	whole := logbook.Launch{Footage: logbook.Footage{To: -1}, Trace: logbook.Trace{Follow: true, Lanes: 1}}
	later, boxed, left, right := whole, whole, whole, whole
	later.Footage.From = 400
	boxed.Trace.Box = &[4]float64{1, 2, 3, 4}
	left.Trace.Follow, left.Trace.Marks = false, []logbook.HandMark{{Frame: 3, X: 100, Y: 500}}
	right.Trace.Follow, right.Trace.Marks = false, []logbook.HandMark{{Frame: 3, X: 300, Y: 500}}
	seeds := map[uint64]string{}
	for _, c := range []struct {
		name   string
		launch *logbook.Launch
		lane   int
		digest string
		seed   uint64
	}{{"a launch", &whole, 1, "a", 1}, {"another lane", &whole, 2, "a", 1}, {"other footage", &whole, 1, "b", 1}, {"another seed", &whole, 1, "a", 2},
		{"a later part", &later, 1, "a", 1}, {"another box", &boxed, 1, "a", 1}, {"marked on the left", &left, 1, "a", 1}, {"marked on the right", &right, 1, "a", 1}} {
		s := pathSeed(c.launch, c.lane, c.digest, c.seed)
		if other, twice := seeds[s]; twice {
			t.Errorf("%s has the draws of %s", c.name, other)
		}
		seeds[s] = c.name
	}
	renamed, ours := whole, whole
	renamed.Path, renamed.Title = "elsewhere/launch.toml", "the same"
	if pathSeed(&renamed, 1, "a", 1) != pathSeed(&whole, 1, "a", 1) || setupSeed(&renamed, "a", 1) != setupSeed(&whole, "a", 1) {
		t.Error("the draws go by the file's name")
	}
	whole.Setup, ours.Setup = "north-mast", "north-mast"
	if setupSeed(&whole, "a", 1) != setupSeed(&ours, "b", 1) {
		t.Error("two launches of one setup do not share its draws")
	}
}
