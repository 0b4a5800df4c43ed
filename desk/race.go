package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/metrology"
	"padside/study"
	"padside/units"
)

// RaceOptions says how launches are raced. The zero value races to the highest gate that all were asked for and reach, slowed so
// that it takes about eight seconds, and writes nothing.
type RaceOptions struct {
	Options
	Clip     string  // the file to write, .mp4; empty: none
	Still    string  // the photo finish to write, .png; empty: none
	Finish   string  // the height raced to, "2 m"; empty: chosen
	Slow     float64 // how many times slower than life it plays; 0: chosen
	AsFilmed bool    // each panel at its own scale instead of all at the same metres per pixel
	FFmpeg   string  // the program; empty means PADSIDE_FFMPEG, or else ffmpeg on PATH
}

// RaceSheet is the result of a race, in the shape of the contract.
type RaceSheet struct {
	Format      string             `json:"format"`
	Version     int                `json:"version"`
	Program     string             `json:"program"`
	Seed        uint64             `json:"seed"`
	Finish      float64            `json:"finish"` // m
	Launches    []ComparedLaunch   `json:"launches"`
	Times       []metrology.Answer `json:"times"`       // s from first motion to the finish, one per launch
	Order       [][]int            `json:"order"`       // finishing places, ties together; who did not reach the finish is in none
	Differences []study.Pair       `json:"differences"` // of times, s
	Clip        *RaceFile          `json:"clip,omitempty"`
	Still       *RaceFile          `json:"still,omitempty"`
	Warnings    []fault.Warning    `json:"warnings"`

	read reader
}

// RaceFile says what was written.
type RaceFile struct {
	Path   string  `json:"path"`
	Width  int     `json:"width"`
	Height int     `json:"height"`
	Frames int     `json:"frames,omitempty"`
	RateHz float64 `json:"rate_hz,omitempty"` // of playback
	Slow   float64 `json:"slow,omitempty"`    // how many times slower than life
	From   float64 `json:"from_s,omitempty"`  // instant of the first frame, s after first motion
}

// JSON returns the sheet with a final line break.
func (s *RaceSheet) JSON() ([]byte, error) {
	b, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return nil, err
	}
	return append(b, '\n'), nil
}

// How many launches a race holds.
const (
	fewestRunners = 2
	mostRunners   = 8
)

// Race measures launches and races them to a height, each counted from its own first motion. An entry is the path of a launch file,
// with ":2" behind it where only the second vehicle of its footage takes part. Files appear whole or not at all.
func Race(ctx context.Context, entries []string, o RaceOptions) (*RaceSheet, error) {
	r, err := prepareRace(ctx, entries, o)
	if err != nil {
		return nil, err
	}
	return r.run(ctx)
}

// prepareRace follows the footage of all that take part.
func prepareRace(ctx context.Context, entries []string, o RaceOptions) (*contest, error) {
	list, err := raceEntries(entries)
	if err != nil {
		return nil, err
	}
	if err := o.check(); err != nil {
		return nil, err
	}
	if err := enough(list); err != nil {
		return nil, err
	}
	r := contest{o: o}
	c := comparing{o: CompareOptions{Options: o.Options}}
	known := map[string]raceHeat{}
	for _, e := range list {
		h, again := known[e.path]
		if !again {
			if h.from, err = c.follow(ctx, e.path); err != nil {
				return nil, err
			}
			h.launch = c.launches[len(c.launches)-1]
			known[e.path] = h
		}
		if err := r.enter(h.launch, h.from, e.lane); err != nil {
			return nil, err
		}
	}
	return &r, nil
}

// entry is a launch file, and the vehicle of it that takes part; 0: all.
type entry struct {
	path string
	lane int
}

// raceEntries reads the names of those that take part.
func raceEntries(args []string) ([]entry, error) {
	var out []entry
	seen := map[entry]int{}
	for i, a := range args {
		e := entry{path: a}
		if _, err := os.Stat(a); err != nil { // a file may have a colon in its name
			if path, lane, ok := cutLane(a); ok {
				e = entry{path, lane}
			}
		}
		abs, err := filepath.Abs(e.path)
		if err != nil {
			return nil, fault.Requestf("give the path of a launch file", "%s: %v", a, err)
		}
		for _, key := range []entry{{abs, e.lane}, {abs, 0}} {
			if j, twice := seen[key]; twice {
				return nil, fault.Requestf("name each launch once", "%d and %d are the same launch, %s", j+1, i+1, a)
			}
		}
		if e.lane == 0 {
			for k, j := range seen {
				if k.path == abs {
					return nil, fault.Requestf("name each launch once", "%d and %d are the same launch, %s", j+1, i+1, a)
				}
			}
		}
		seen[entry{abs, e.lane}] = i
		out = append(out, e)
	}
	if len(out) == 0 || len(out) > mostRunners {
		return nil, rightNumber(len(out))
	}
	return out, nil
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
				return err
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

// check refuses what cannot be done before any work is.
func (o *RaceOptions) check() error {
	if o.Slow < 0 || math.IsNaN(o.Slow) || math.IsInf(o.Slow, 0) {
		return fault.Requestf("give how many times slower than life, for example 40", "a race cannot be slowed by %g", o.Slow)
	}
	if _, err := o.finish(); err != nil {
		return err
	}
	for _, f := range []struct{ path, end, what string }{{o.Clip, ".mp4", "clip"}, {o.Still, ".png", "photo finish"}} {
		if f.path == "" {
			continue
		}
		if !strings.EqualFold(filepath.Ext(f.path), f.end) {
			return fault.Requestf("choose a name that ends in "+f.end, "the %s cannot be written as %s", f.what, f.path)
		}
		if s, err := os.Stat(f.path); err == nil && s.IsDir() {
			return fault.Requestf("choose another name", "the %s cannot be written to %s, which is a folder", f.what, f.path)
		}
	}
	if o.Clip != "" {
		return footage.CanEncode(o.FFmpeg)
	}
	return nil
}

// finish is the height asked for, 0 where it is to be chosen.
func (o *RaceOptions) finish() (float64, error) {
	if o.Finish == "" {
		return 0, nil
	}
	q, err := units.Parse(o.Finish, units.Length)
	if err != nil {
		return 0, err
	}
	if q.Value <= 0 {
		return 0, fault.Requestf(`give a height above the vehicle at rest, for example "2 m"`, "a race cannot finish at %s", o.Finish)
	}
	return q.Value, nil
}

// contest is a race being prepared.
type contest struct {
	o       RaceOptions
	heats   []raceHeat
	goal    float64 // m
	goalAs  string  // as it is written
	runners []runner
	sheet   *RaceSheet
	gates   []float64 // m, that all were asked for
	cadence cadence
}

// raceHeat is one piece of footage and the vehicle of it that takes part; 0: all.
type raceHeat struct {
	launch *logbook.Launch
	from   *followed
	lane   int
}

// enter adds a launch that was followed.
func (r *contest) enter(l *logbook.Launch, f *followed, lane int) error {
	if n := len(f.seen.Paths); lane > n {
		return fault.Requestf(fmt.Sprintf("its vehicles are numbered from 1 to %d, left to right", n), "%s shows no vehicle %d", l.Path, lane)
	}
	r.heats = append(r.heats, raceHeat{l, f, lane})
	return nil
}

// run answers, orders and draws.
func (r *contest) run(ctx context.Context) (*RaceSheet, error) {
	n := 0
	for _, h := range r.heats {
		if h.lane > 0 {
			n++
		} else {
			n += len(h.from.seen.Paths)
		}
	}
	if err := rightNumber(n); err != nil {
		return nil, err
	}
	if err := r.choose(); err != nil {
		return nil, err
	}
	if err := r.answer(ctx); err != nil {
		return nil, err
	}
	if err := r.places(); err != nil {
		return nil, err
	}
	if err := r.pace(); err != nil {
		return nil, err
	}
	if r.o.Still != "" {
		if err := r.still(); err != nil {
			return nil, err
		}
	}
	if r.o.Clip != "" {
		if err := r.clip(ctx); err != nil {
			return nil, err
		}
	}
	return r.sheet, nil
}

// places orders those that reached the finish. Times and odds are study's: counted from each launch's own first motion, draw by draw.
func (r *contest) places() error {
	s := &RaceSheet{Format: "padside-race", Version: 1, Program: Program, Seed: max(1, r.o.Seed), Finish: r.goal, Order: [][]int{}, Warnings: []fault.Warning{}}
	var all, reached []study.Launch
	var who []int // runner of each of reached, from 1
	for i := range r.runners {
		a := r.runners[i].entry
		all = append(all, a)
		s.Launches = append(s.Launches, r.runners[i].line)
	}
	both, err := study.Compare(all)
	if err != nil {
		return err
	}
	s.Times, s.Differences = both.Rows[0].Each, both.Rows[0].Differences
	for _, w := range both.Warnings {
		if w.Code != "still-accelerating" { // speaks of peak speeds
			s.Warnings = append(s.Warnings, w)
		}
	}
	for i, a := range s.Times {
		if a.Value != nil {
			reached, who = append(reached, all[i]), append(who, i+1)
		}
	}
	switch len(reached) {
	case 0:
	case 1:
		s.Order = [][]int{{who[0]}}
	default:
		c, err := study.Compare(reached)
		if err != nil {
			return err
		}
		for _, p := range c.Order {
			var place []int
			for _, k := range p {
				place = append(place, who[k-1])
			}
			s.Order = append(s.Order, place)
		}
	}
	if s.read, err = newReader(r.heats[0].launch.Questions, ReaderUnits{}); err != nil {
		return err
	}
	r.sheet = s
	r.awarded()
	return nil
}
