package desk

import (
	"context"
	"path/filepath"

	"padside/fault"
	"padside/logbook"
	"padside/metrology"
	"padside/rules"
	"padside/study"
)

// HeatOptions says how to race. The zero value is the documented default.
type HeatOptions struct{ Options }

// HeatSheet is the result of a heat, in the shape of heat.json. Quantities are SI.
type HeatSheet struct {
	Format   string          `json:"format"`
	Version  int             `json:"version"`
	Program  string          `json:"program"`
	Seed     uint64          `json:"seed"`
	Title    string          `json:"title"`
	Date     string          `json:"date,omitempty"`
	Question HeatQuestion    `json:"question"`
	Rules    []rules.Rule    `json:"rules"`
	Entries  []HeatEntry     `json:"entries"`
	Order    [][]int         `json:"order"` // finishing places: entries from 1, as listed; ties together
	Ratios   []study.Pair    `json:"ratios"`
	Diffs    []study.Pair    `json:"differences"`
	Odds     []study.Odds    `json:"odds"`
	Warnings []fault.Warning `json:"warnings"`
	// Where it was kept, SHA-256 of the files that belong to it.
	Files map[string]string `json:"files,omitempty"`

	asked logbook.Questions // for the reader's units
}

// HeatQuestion is the answer that was raced on.
type HeatQuestion struct {
	ID      string   `json:"id"`
	Speed   *float64 `json:"speed,omitempty"`
	Height  *float64 `json:"height,omitempty"`
	Unit    string   `json:"unit"`
	Smaller bool     `json:"smaller_wins"`
	Words   string   `json:"words"`
}

// HeatStanding says what became of an entry.
type HeatStanding string

// The standings of an entry.
const (
	Classified    HeatStanding = "classified"     // it has a place
	NotClassified HeatStanding = "not-classified" // it broke a rule
	NoResult      HeatStanding = "no-result"      // its footage does not answer the question
	Waiting       HeatStanding = "waiting"        // it has not been measured as it stands (in a logbook only)
)

// HeatEntry is one entry with its result.
type HeatEntry struct {
	Number   string           `json:"number"`
	Name     string           `json:"name"`
	Title    string           `json:"title"`
	Vehicle  string           `json:"vehicle,omitempty"`
	Setup    string           `json:"setup,omitempty"`
	Launch   string           `json:"launch"` // its file, as the heat file writes it
	Lane     int              `json:"lane,omitempty"`
	Footage  *FootageLine     `json:"footage,omitempty"`
	Standing HeatStanding     `json:"standing"`
	Place    string           `json:"place,omitempty"`   // "1", "2 ="
	Reasons  []string         `json:"reasons"`           // why it is not classified, or its answer has no value
	Problem  string           `json:"problem,omitempty"` // why it could not be measured
	Checks   []rules.Check    `json:"checks"`            // rule by rule
	Answer   metrology.Answer `json:"answer"`
	First    *float64         `json:"first_probability,omitempty"` // that it is the best of those classified
}

// JSON returns the sheet with a final line break.
func (s *HeatSheet) JSON() ([]byte, error) {
	return indented(s)
}

// Heat reads a heat file, measures its entries and puts them in order.
func Heat(ctx context.Context, path string, o HeatOptions) (*HeatSheet, error) {
	return heat(ctx, path, o, map[string]*followed{})
}

// heat leaves in seen what it followed, by the launches' files: each is followed once, however many of its lanes race.
func heat(ctx context.Context, path string, o HeatOptions, seen map[string]*followed) (*HeatSheet, error) {
	h, err := logbook.ReadHeat(path)
	if err != nil {
		return nil, err
	}
	r := &racing{file: h, o: o.Options}
	if err := r.gather(logbook.ReadLaunch); err != nil {
		return nil, err
	}
	return r.run(ctx, func(ctx context.Context, l *logbook.Launch, o Options) (*Measurement, error) {
		f := seen[l.Path]
		if f == nil {
			fo := o
			if p := o.Progress; p != nil {
				fo.Progress = func(stage string, done, total int) { p(filepath.Base(filepath.Dir(l.Path))+" "+stage, done, total) }
			}
			var err error
			if f, err = followLaunch(ctx, l, fo); err != nil {
				return nil, err
			}
			seen[l.Path] = f
		}
		return f.answer(ctx, l, o)
	})
}

// called is what an entry is called: its name, else its vehicle, else its launch's title.
func (e *HeatEntry) called() string {
	for _, s := range []string{e.Name, e.Vehicle, e.Title} {
		if s != "" {
			return s
		}
	}
	return filepath.Base(filepath.Dir(e.Launch))
}
