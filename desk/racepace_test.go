package desk

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"padside/fault"
	"padside/metrology"
)

// filmedAt is a runner filmed at a rate from a second before its first motion on; it finishes at an instant, or is in view so long.
func filmedAt(hz, offset float64, frames int, finish float64) runner {
	r := runner{}
	for i := range frames {
		r.times = append(r.times, offset+float64(i)/hz)
	}
	r.gone = r.times[frames-1]
	if finish > 0 {
		r.time = metrology.Answer{Value: &finish}
	}
	return r
}

func TestFrameAtIsNearestOrLatest(t *testing.T) {
	t.Parallel()
	r := filmedAt(10, -0.25, 6, 0) // -0.25, -0.15, -0.05, 0.05, 0.15, 0.25
	for _, c := range []struct {
		t             float64
		nearest, held int
	}{{-1, 0, 0}, {-0.25, 0, 0}, {-0.16, 1, 0}, {0.02, 3, 2}, {0.05, 3, 3}, {0.09, 3, 3}, {0.11, 4, 3}, {0.25, 5, 5}, {9, 5, 5}} {
		if got := r.frameAt(c.t, false); got != c.nearest {
			t.Errorf("nearest to %g is frame %d, want %d", c.t, got, c.nearest)
		}
		if got := r.frameAt(c.t, true); got != c.held {
			t.Errorf("latest at %g is frame %d, want %d", c.t, got, c.held)
		}
	}
}

func TestPaceBoundsTheRace(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name    string
		runners []runner
		slow    float64
		to      float64
		held    bool
		slowed  float64
	}{
		{"the last at the finish ends it", []runner{filmedAt(1000, -0.05, 400, 0.08), filmedAt(1000, -0.05, 400, 0.1)}, 40, 0.1, false, 40},
		{"one that never arrives is waited for while it is in view", []runner{filmedAt(1000, -0.05, 200, 0.1), filmedAt(1000, -0.05, 200, 0)}, 40, 0.149, false, 40},
		{"but not for ever", []runner{filmedAt(1000, -0.05, 9000, 0.1), filmedAt(1000, -0.05, 9000, 0)}, 40, 0.2, false, 40},
		{"nobody arrives", []runner{filmedAt(1000, -0.05, 101, 0), filmedAt(1000, -0.05, 151, 0)}, 40, 0.1, false, 40},
		{"rates differ", []runner{filmedAt(1600, -0.05, 400, 0.1), filmedAt(30, -0.5, 40, 0.1)}, 0, 0.1, true, 50},
	} {
		r := contest{o: RaceOptions{Slow: c.slow}, runners: c.runners}
		if err := r.pace(); err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		d := r.cadence
		if math.Abs(d.to-c.to) > 1e-9 || d.held != c.held || d.slow != c.slowed {
			t.Errorf("%s: ends at %g s, held %v, slowed %g; want %g, %v, %g", c.name, d.to, d.held, d.slow, c.to, c.held, c.slowed)
		}
		if last := d.at(d.frames - 1); last < d.to || last > d.to+d.step() {
			t.Errorf("%s: the last frame shows %g s, want the first not before %g", c.name, last, d.to)
		}
	}
	long := contest{o: RaceOptions{Slow: 1e6}, runners: []runner{filmedAt(1000, -0.05, 400, 0.1)}}
	var f *fault.Error
	if err := long.pace(); !errors.As(err, &f) || f.Kind != fault.Request || f.Hint == "" {
		t.Errorf("a race of hours gives %v, want a refusal with a hint", err)
	}
}

func TestRaceEntriesNameLanes(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	odd := filepath.Join(dir, "odd:3")
	if err := os.WriteFile(odd, nil, 0o644); err != nil {
		t.Skip("this system allows no colon in a name")
	}
	list, _, err := raceEntries([]string{"a.toml", "b.toml:1", "b.toml:2", odd, "c.toml:x"})
	if err != nil {
		t.Fatal(err)
	}
	want := []entry{{path: "a.toml"}, {path: "b.toml", lane: 1}, {path: "b.toml", lane: 2}, {path: odd}, {path: "c.toml:x"}}
	for i := range want {
		if list[i] != want[i] {
			t.Errorf("entry %d is %v, want %v", i+1, list[i], want[i])
		}
	}
	for _, bad := range [][]string{{"a", "b", "./a"}, {"a:1", "a"}, {"a:1", "b", "a:1"}, {}, strings.Split("a b c d e f g h i", " ")} {
		if _, _, err := raceEntries(bad); err == nil {
			t.Errorf("raceEntries(%v) gave no error", bad)
		}
	}
}

func TestOrdinalAndRound(t *testing.T) {
	t.Parallel()
	for n, want := range map[int]string{1: "1st", 2: "2nd", 3: "3rd", 4: "4th", 11: "11th", 12: "12th", 13: "13th", 21: "21st", 112: "112th"} {
		if got := ordinal(n); got != want {
			t.Errorf("ordinal(%d) = %s, want %s", n, got, want)
		}
	}
	for v, want := range map[float64]float64{57: 50, 1: 1, 1.49: 1, 0.79: 0.5, 2.99: 2, 9.9: 8, 14: 10, 16: 15} {
		if got := roundBelow(v); math.Abs(got-want) > 1e-12*want {
			t.Errorf("roundBelow(%g) = %g, want %g", v, got, want)
		}
	}
}
