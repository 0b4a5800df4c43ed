package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"padside/fault"
	"padside/logbook"
	"padside/metrology"
	"padside/predict"
	"padside/units"
	"padside/wording"
)

// ModelView is a launch's flight model as the model page shows it.
type ModelView struct {
	Name     string       `json:"name"`
	Title    string       `json:"title"`
	Flight   string       `json:"flight"` // path of the flight file; empty: the launch names none
	Problem  *Problem     `json:"problem"`
	Stale    bool         `json:"stale"` // launch, setup or flight file have changed since
	Job      *Job         `json:"job"`
	Fittable []string     `json:"fittable"` // inputs that may be left to the footage alone
	Free     []string     `json:"free"`     // those that were
	Lines    []ModelLine  `json:"lines"`
	Safety   []string     `json:"safety"`
	Doubts   []string     `json:"doubts"`
	Sheet    *ModelSheet  `json:"sheet"` // null where it was never explained
	Best     []ModelWords `json:"best"`  // of the sweep's curves
}

// ModelLine is one answer in words: a fitted input, or what follows from the fit.
type ModelLine struct {
	ID       string `json:"id"`
	Label    string `json:"label"`
	Fitted   bool   `json:"fitted"`
	Text     string `json:"text"`
	Interval string `json:"interval_text"`
	Limit    string `json:"limited_by"`
}

// ModelWords words a curve of the sweep.
type ModelWords struct {
	Label string `json:"label"`
	Text  string `json:"text"`
}

// ModelSheet is what is kept of an explanation.
type ModelSheet struct {
	Of   string   `json:"of"` // digest of what it depends on
	Free []string `json:"free"`
	// SHA-256 of the footage that was measured; empty in results of earlier versions.
	Footage string `json:"footage_sha256"`
	*ExplainSheet
}

// explainFile is the explanation in a launch's folder.
const explainFile = "explain.json"

// safetyCodes are warnings that say how not to come to harm.
var safetyCodes = map[string]bool{"no-clearance": true, "stored-energy": true, "pressure-high": true, "high-power": true}

// StartExplain starts fitting a launch's flight model to what was measured of it, or returns the job that is at it already. free names inputs that
// the footage alone decides; nil takes what is usual.
func (d *Desk) StartExplain(name string, free []string) (Job, error) {
	l, _, err := d.answererOf(name)
	if err != nil {
		return Job{}, err
	}
	if _, err := flightOf(l); err != nil {
		return Job{}, err
	}
	return d.jobs.start(d.ctx, Job{Launch: name, Model: true}, func(ctx context.Context, progress func(string, int, int)) error {
		return d.explain(ctx, name, free, Options{Progress: progress})
	}), nil
}

// flightOf reads the flight file a launch names.
func flightOf(l *logbook.Launch) (*logbook.FlightFile, error) {
	if l.Flight == "" {
		return nil, fault.Requestf(`write flight = "../../flights/NAME.toml" into its launch file`, "the launch names no flight file to explain it with")
	}
	return logbook.ReadFlight(l.Flight)
}

func (d *Desk) explain(ctx context.Context, name string, free []string, o Options) error {
	l, answer, err := d.answererOf(name)
	if err != nil {
		return err
	}
	f, err := flightOf(l)
	if err != nil {
		return err
	}
	of := d.modelOf(name, l)
	m, err := answer(ctx, l, o)
	if err != nil {
		return err
	}
	s, err := m.explain(ctx, f, ExplainOptions{Options: o, Free: free})
	if err != nil {
		return err
	}
	b, err := json.MarshalIndent(ModelSheet{of, free, m.Sheet.Footage.SHA256, s}, "", "  ")
	if err != nil {
		return err
	}
	if err := d.book.Keep(name, map[string][]byte{explainFile: append(b, '\n')}); err != nil {
		return err
	}
	d.watch.tell(Event{Kind: "model", Launch: name})
	return nil
}

// modelOf is the digest of what an explanation depends on: launch, setup, flight file.
func (d *Desk) modelOf(name string, l *logbook.Launch) string {
	s, err := d.book.State(name)
	if err != nil {
		return ""
	}
	text, err := logbook.ReadShort(l.Flight)
	if err != nil {
		return ""
	}
	return digestOf(append([]byte(d.standing(l, s.Text)), text...))
}

// Model returns what was found of a launch's flight model.
func (d *Desk) Model(_ context.Context, name string) (*ModelView, error) {
	s, err := d.book.State(name)
	if err != nil {
		return nil, err
	}
	v := &ModelView{Name: name, Title: name, Fittable: []string{}, Free: []string{}, Lines: []ModelLine{}, Safety: []string{}, Doubts: []string{}, Best: []ModelWords{}, Job: d.jobs.fitting(name)}
	l, err := d.book.ResolveText(name, s.Text)
	if err != nil {
		v.Problem = problemOf(err)
		return v, nil
	}
	if l.Title != "" {
		v.Title = l.Title
	}
	f, err := flightOf(l)
	if err != nil {
		v.Problem = problemOf(err)
		return v, nil
	}
	v.Flight = filepath.Base(l.Flight)
	e, _ := fromLaunches(f, []*logbook.Launch{l})
	v.Fittable = e.fittable()
	if _, _, err := d.answererOf(name); err != nil {
		v.Problem = problemOf(err)
	}
	var kept ModelSheet
	b, err := d.book.File(name, explainFile)
	if err != nil || json.Unmarshal(b, &kept) != nil || kept.ExplainSheet == nil || whole(kept.Answers, metrology.Answer.Check) != nil {
		return v, nil
	}
	v.Sheet, v.Stale = &kept, kept.Of != d.modelOf(name, l) || kept.Footage != "" && kept.Footage != d.brief(name).measuredFrom().SHA256
	v.word(e)
	return v, nil
}

// word puts the sheet into words.
func (v *ModelView) word(e *explained) {
	s := v.Sheet
	for i, a := range s.Answers {
		fitted := i < len(s.Fitted)
		u := units.Unit{Symbol: a.Unit, Num: 1, Den: 1}
		if fitted {
			u = e.written(a.ID, u)
		}
		line := ModelLine{ID: a.ID, Label: predict.Name(a.ID), Fitted: fitted}
		line.Text, line.Interval = wording.Text(a, u)
		if a.Value != nil {
			line.Interval += " " + u.Symbol
		}
		if fitted && len(a.Budget) > 0 && a.Value != nil {
			line.Limit = strings.ReplaceAll(a.Budget[0].Source, "_", " ")
		}
		v.Lines = append(v.Lines, line)
		if fitted && e.freed(a) {
			v.Free = append(v.Free, a.ID)
		}
	}
	if s.Free != nil {
		v.Free = s.Free
	}
	for _, w := range s.Warnings {
		if safetyCodes[w.Code] {
			v.Safety = append(v.Safety, w.Message)
		} else {
			v.Doubts = append(v.Doubts, w.Message)
		}
	}
	if s.Sweep == nil {
		return
	}
	u := e.written(s.Sweep.Key, units.Unit{Symbol: s.Sweep.KeyUnit, Num: 1, Den: 1})
	for _, k := range s.Sweep.Curves {
		v.Best = append(v.Best, ModelWords{predict.Name(k.ID), k.bestText(u)})
	}
}

// shortly writes a number with three digits.
func shortly(v float64) string {
	place := 2 - int(math.Floor(math.Log10(math.Max(math.Abs(v), 1e-9))))
	return metrology.Round(v, -place)
}

// written is the unit in which the flight file or the launch writes an input.
func (e *explained) written(key string, otherwise units.Unit) units.Unit {
	d, ok := e.of[key]
	if !ok {
		return otherwise
	}
	if u, ok := units.Lookup(e.symbol[key], d); ok {
		return u
	}
	return units.SI(d)
}

// say writes a value of an unknown in the unit in which the flight file or the launch has it.
func (e *explained) say(key string, v float64) string {
	u := e.written(key, units.Unit{Symbol: e.unit(key), Num: 1, Den: 1})
	return strings.TrimSpace(fmt.Sprintf("%.4g %s", u.FromSI(v), u.Symbol))
}

// freed says whether a fitted input was left to the footage alone: nothing about it was stated, or it stands among the usual ones.
func (e *explained) freed(a metrology.Answer) bool {
	for _, s := range a.Budget {
		if s.Source == a.ID {
			return false
		}
	}
	return a.ID == dragArea || customary[a.ID] != 0
}
