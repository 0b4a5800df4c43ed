package desk

import (
	"context"
	"fmt"
	"path/filepath"
	"runtime"
	"strings"

	"padside/fault"
	"padside/guard"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/study"
)

// CompareOptions says how to compare. The zero value compares without more.
type CompareOptions struct {
	Options
	Repeats bool   // the launches repeat each other: sum them up
	Sweep   string // the condition in which the launches differ, a key of [conditions]; empty: none
}

// ComparedLaunch names one of the launches compared.
type ComparedLaunch struct {
	Title string `json:"title"`
	Setup string `json:"setup"`
	Lane  int    `json:"lane,omitempty"` // of footage with several vehicles
	Path  string `json:"path"`
}

// RepeatsLine sums up one answer over repeats.
type RepeatsLine struct {
	metrology.Answer
	BetweenSD float64 `json:"between_launches_sd"`
	WithinSD  float64 `json:"measuring_sd"`
	SharedU   float64 `json:"shared_standard_uncertainty"`
	Outlier   int     `json:"outlier,omitempty"` // from 1
	OutlierP  float64 `json:"outlier_probability,omitempty"`
}

// CompareSheet is the result of a comparison, in the shape of the contract.
type CompareSheet struct {
	Format   string           `json:"format"`
	Version  int              `json:"version"`
	Program  string           `json:"program"`
	Seed     uint64           `json:"seed"`
	Launches []ComparedLaunch `json:"launches"`
	Answers  []study.Row      `json:"answers"`
	Order    [][]int          `json:"order"`
	OrderBy  string           `json:"order_by,omitempty"`
	Repeats  []RepeatsLine    `json:"repeats,omitempty"`
	Sweep    []SweepLine      `json:"sweep,omitempty"`
	Model    *SweepModel      `json:"model,omitempty"` // where the launches swept name one flight file
	Warnings []fault.Warning  `json:"warnings"`

	questions []logbook.Questions
	by        *study.Row // that the order is by
}

// JSON returns the sheet with a final line break.
func (s *CompareSheet) JSON() ([]byte, error) {
	return indented(s)
}

// Compare measures launches, given by their files, and compares them. Footage with several vehicles counts as one launch for each.
func Compare(ctx context.Context, paths []string, o CompareOptions) (*CompareSheet, error) {
	c, err := gather(ctx, paths, o)
	if err != nil {
		return nil, err
	}
	s, err := c.sheet(ctx)
	if err != nil || o.Sweep == "" {
		return s, err
	}
	s.Model, err = c.explained(ctx, s)
	return s, err
}

// gather follows the footage of all launches.
func gather(ctx context.Context, paths []string, o CompareOptions) (*comparing, error) {
	if err := distinct(paths); err != nil {
		return nil, err
	}
	c := &comparing{o: o}
	vehicles := 0
	for _, p := range paths { // what is wrong with a file is said before any footage is followed
		l, err := logbook.ReadLaunch(p)
		if err != nil {
			return nil, err
		}
		c.launches, vehicles = append(c.launches, l), vehicles+max(1, l.Trace.Lanes)
	}
	if vehicles < 2 {
		return nil, fault.Requestf("name two launch files or more; footage with several vehicles counts as one launch for each", "here is one launch to compare")
	}
	if o.Repeats && o.Sweep != "" {
		return nil, fault.Requestf("give --repeats or --sweep", "launches that repeat each other do not differ in %s", o.Sweep)
	}
	var seen []*followed
	for _, l := range c.launches {
		f, err := c.follow(ctx, l)
		if err != nil {
			return nil, err
		}
		seen = append(seen, f)
	}
	c.answer = func(ctx context.Context, i int, o Options) (*Measurement, error) {
		return seen[i].answer(ctx, c.launches[i], o)
	}
	return c, nil
}

// distinct refuses a launch given twice.
func distinct(paths []string) error {
	seen := map[string]int{}
	for i, p := range paths {
		abs, err := filepath.Abs(p)
		if err != nil {
			return fault.Requestf("give the path of a launch file", "%s: %v", p, err)
		}
		if j, twice := seen[abs]; twice {
			return fault.Requestf("name each launch once", "launches %d and %d are the same file, %s", j+1, i+1, p)
		}
		seen[abs] = i
	}
	return nil
}

// comparing gathers launches that have been followed.
type comparing struct {
	o        CompareOptions
	launches []*logbook.Launch
	answer   func(ctx context.Context, i int, o Options) (*Measurement, error)
	measured []*Measurement // as last answered
	window   float64        // s, of the largest acceleration, where all are known; 0: found by answering
}

// follow follows a launch's footage.
func (c *comparing) follow(ctx context.Context, l *logbook.Launch) (*followed, error) {
	o := c.o.Options
	if p := c.o.Progress; p != nil {
		o.Progress = func(stage string, done, total int) { p(filepath.Base(filepath.Dir(l.Path))+" "+stage, done, total) }
	}
	f, err := followLaunch(ctx, l, o)
	if err != nil {
		return nil, about(l.Path, err)
	}
	return f, nil
}

// answers answers all launches. window is that of the largest acceleration, 0 for each launch's own.
func (c *comparing) answers(ctx context.Context, window float64) ([]*Measurement, error) {
	out := make([]*Measurement, len(c.launches))
	g, ctx := guard.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i := range c.launches {
		g.Go(func() error {
			o := c.o.Options
			o.window = window
			var err error
			out[i], err = c.answer(ctx, i, o)
			return err
		})
	}
	return out, g.Wait()
}

// widest is the longest window of a largest acceleration: the one over which all can be compared.
func widest(list []*Measurement) float64 {
	w := 0.0
	for _, m := range list {
		for _, a := range m.Sheet.Answers {
			if a.ID == motion.PeakAcceleration && a.Window != nil {
				w = max(w, *a.Window)
			}
		}
	}
	return w
}

func (c *comparing) sheet(ctx context.Context) (*CompareSheet, error) {
	list, err := c.answers(ctx, c.window)
	if err != nil {
		return nil, err
	}
	if w := widest(list); w > 0 && w != c.window {
		if list, err = c.answers(ctx, w); err != nil {
			return nil, err
		}
		c.window = w
	}
	c.measured = list
	s := &CompareSheet{Format: "padside-compare", Version: 1, Program: Program, Seed: max(1, c.o.Seed), Warnings: []fault.Warning{}}
	var launches []study.Launch
	for i, m := range list {
		l := c.launches[i]
		for k := range m.Lanes {
			one := study.Launch{Title: m.Sheet.Launch.Title, Setup: l.Setup, Answers: m.Lanes[k].Motion.Answers, Draws: m.Lanes[k].Motion.Draws, Warnings: m.Sheet.Warnings}
			line := ComparedLaunch{Title: titleFor(m, k), Setup: l.Setup, Path: l.Path}
			if len(m.Lanes) > 1 {
				line.Lane = m.Lanes[k].Path.Lane
				if one.Setup == "" {
					one.Setup = l.Path // one camera saw both
				}
			}
			one.Title = line.Title
			launches = append(launches, one)
			s.Launches, s.questions = append(s.Launches, line), append(s.questions, l.Questions)
		}
	}
	compared, err := study.Compare(launches)
	if err != nil {
		return nil, err
	}
	s.Answers, s.Order, s.OrderBy = compared.Rows, compared.Order, compared.OrderBy
	s.Warnings = append(s.Warnings, compared.Warnings...)
	if c.o.Repeats {
		s.repeats(compared)
	} else {
		s.designs(compared, c.designs())
	}
	if c.o.Sweep != "" {
		return s, c.sweep(s, compared)
	}
	return s, nil
}

// titleFor is what a launch, or one lane of it, is called.
func titleFor(m *Measurement, k int) string {
	title := m.Sheet.Launch.Title
	if title == "" {
		title = filepath.Base(filepath.Dir(m.Launch.Path))
	}
	if len(m.Lanes) == 1 {
		return title
	}
	names := strings.Split(m.Launch.Vehicle, ",")
	if len(names) == len(m.Lanes) && strings.TrimSpace(names[k]) != "" {
		return strings.TrimSpace(names[k])
	}
	return fmt.Sprintf("%s, lane %d", title, m.Lanes[k].Path.Lane)
}

// repeats sums up every answer that all launches gave.
func (s *CompareSheet) repeats(c *study.Comparison) {
	for i := range c.Rows {
		values, draws, ok := c.Rows[i].All()
		if !ok {
			continue
		}
		r, err := study.Repeat(values, draws, c.Rows[i].Question())
		if err != nil {
			continue // too few draws of it: the row itself says so
		}
		s.Repeats = append(s.Repeats, RepeatsLine{r.Mean, r.BetweenSD, r.WithinSD, r.SharedU, r.Outlier, r.OutlierP})
		if r.Outlier > 0 {
			s.Warnings = append(s.Warnings, fault.Warning{Code: "outlier", Message: fmt.Sprintf(
				"launch %d (%s) lies off the others in %s: so far off is %.1g %% probable by chance; look at its footage; it is kept in the mean",
				r.Outlier, s.Launches[r.Outlier-1].Title, r.Mean.ID, 100*r.OutlierP)})
		}
	}
}
