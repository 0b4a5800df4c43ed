package desk

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/metrology"
	"padside/study"
	"padside/units"
	"padside/wording"
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

	read wording.Reader
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
	return indented(s)
}

// Race measures launches and races them to a height, each counted from its own first motion. An entry is the path of a launch file,
// with ":2" behind it where only the second vehicle of its footage takes part; or the one entry is a heat file. Files appear whole or not at all.
func Race(ctx context.Context, entries []string, o RaceOptions) (*RaceSheet, error) {
	r, err := prepareRace(ctx, entries, o)
	if err != nil {
		return nil, err
	}
	return r.run(ctx)
}

// prepareRace follows the footage of all that take part.
func prepareRace(ctx context.Context, entries []string, o RaceOptions) (*contest, error) {
	list, finish, err := raceEntries(entries)
	if err != nil {
		return nil, err
	}
	if o.Finish == "" {
		o.Finish = finish
	}
	if err := o.check(); err != nil {
		return nil, err
	}
	if err := enough(list); err != nil {
		return nil, err
	}
	r := contest{o: o}
	c := comparing{o: CompareOptions{Options: o.Options}}
	known := map[string]raceStart{}
	for _, e := range list {
		h, again := known[e.path]
		if !again {
			if h.launch, err = logbook.ReadLaunch(e.path); err != nil {
				return nil, err
			}
			if h.from, err = c.follow(ctx, h.launch); err != nil {
				return nil, err
			}
			known[e.path] = h
		}
		if err := r.enter(raceStart{h.launch, h.from, e.lane, e.name}); err != nil {
			return nil, err
		}
	}
	return &r, nil
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
		if err := logbook.CanWrite(f.path); err != nil {
			return err
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
	starts  []raceStart
	goal    float64 // m
	goalAs  string  // as it is written
	runners []runner
	sheet   *RaceSheet
	gates   []float64 // m, that all were asked for
	cadence cadence
}

// raceStart is one piece of footage and the vehicle of it that takes part; 0: all.
type raceStart struct {
	launch *logbook.Launch
	from   *followed
	lane   int
	name   string // instead of the launch's; may be empty
}

// enter adds a launch that was followed.
func (r *contest) enter(h raceStart) error {
	if n := len(h.from.seen.Paths); h.lane > n {
		return fault.Requestf(fmt.Sprintf("its vehicles are numbered from 1 to %d, left to right", n), "%s shows no vehicle %d", h.launch.Path, h.lane)
	}
	r.starts = append(r.starts, h)
	return nil
}

// run answers, orders and draws.
func (r *contest) run(ctx context.Context) (*RaceSheet, error) {
	n := 0
	for _, h := range r.starts {
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
	if s.read, err = wording.New(r.starts[0].launch.Questions, wording.Units{}); err != nil {
		return err
	}
	r.sheet = s
	r.awarded()
	return nil
}
