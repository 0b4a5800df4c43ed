package desk

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"padside/disk"
	"padside/logbook"
	"padside/metrology"
	"padside/predict"
	"padside/units"
	"padside/wording"
)

// CompareModelView is the flight model fitted to launches swept, as the compare page shows it. Model is null where the launches name no flight file
// in common, or the condition is none of its inputs.
type CompareModelView struct {
	Model  *SweepModel  `json:"model"`
	Fitted []ModelWords `json:"fitted"` // its inputs in words
	Best   []ModelWords `json:"best"`   // of each of its curves
}

// CompareModel fits the flight model of launches of the logbook that differ in a condition on purpose, from what was kept of them.
func (d *Desk) CompareModel(ctx context.Context, names []string, sweep string, want wording.Units) (*CompareModelView, error) {
	c, s, err := d.compared(ctx, names, CompareOptions{Sweep: sweep})
	if err != nil {
		return nil, err
	}
	if s.Model, err = d.sweptModel(ctx, c, names, s); err != nil {
		return nil, err
	}
	v := &CompareModelView{Model: s.Model, Fitted: []ModelWords{}, Best: []ModelWords{}}
	if s.Model == nil {
		return v, nil
	}
	r, err := wording.New(s.questions[0], want)
	if err != nil {
		return nil, err
	}
	for _, a := range s.Model.Fitted {
		value, interval := wording.Text(a, units.Unit{Symbol: a.Unit, Num: 1, Den: 1})
		if a.Value != nil {
			value += " (" + interval + ")"
		}
		v.Fitted = append(v.Fitted, ModelWords{predict.Name(a.ID), value})
	}
	for i := range s.Model.Curves {
		k := &s.Model.Curves[i]
		v.Best = append(v.Best, ModelWords{curveName(r, k), k.bestText(s.Sweep[0].written)})
	}
	return v, nil
}

// curveName names a curve of the model as the reader's questions would.
func curveName(r wording.Reader, k *ModelCurve) string {
	if k.Speed != nil || k.Height != nil {
		return r.Name(metrology.Answer{ID: k.ID, Speed: k.Speed, Height: k.Height, Unit: k.Unit})
	}
	return predict.Name(k.ID)
}

// bestText words where the model has the best, the condition in the unit it is written in.
func (k *ModelCurve) bestText(written units.Unit) string {
	l := SweepLine{Optimum: k.Optimum, Interval: k.Interval, written: written}
	value, interval := l.best()
	text := "best at " + value + " (" + interval + ")"
	if k.AtEnd || interval == "" {
		text = "best at the end of the range looked at, " + value
	}
	return text + "; " + strings.TrimSpace(shortly(k.Value)+" "+k.Unit) + " there"
}

// Models fitted to sweeps, in the logbook's folder sweeps.
const (
	sweepsDir  = "sweeps"
	keptSweeps = 12 // the newest: a model can always be fitted again
)

var sweepFile = regexp.MustCompile(`^[0-9a-f]{16}\.json$`)

// sweptModel is the flight model fitted to launches that are swept: as it was kept, where launches and flight file stand as they did, or fitted
// now and kept.
func (d *Desk) sweptModel(ctx context.Context, c *comparing, names []string, s *CompareSheet) (*SweepModel, error) {
	dir, file := filepath.Join(d.book.Dir(), sweepsDir), d.sweepKey(c, names)[:16]+".json"
	var kept SweepModel
	if b, err := disk.Read(filepath.Join(dir, file), logbook.MostKept); err == nil && json.Unmarshal(b, &kept) == nil && whole(kept.Fitted, metrology.Answer.Check) == nil {
		return &kept, nil
	}
	m, err := c.explained(ctx, s)
	if err != nil || m == nil {
		return m, err
	}
	b, err := indented(m)
	if err != nil {
		return nil, err
	}
	if logbook.WriteAtomic(dir, map[string][]byte{file: b}) == nil { // what cannot be kept is fitted again
		keepNewest(dir, keptSweeps, sweepFile.MatchString)
	}
	return m, nil
}

// sweepKey is the digest of all that a model fitted to launches depends on.
func (d *Desk) sweepKey(c *comparing, names []string) string {
	text := []byte(Program + c.o.Sweep)
	for i, name := range names {
		if s, err := d.book.State(name); err == nil {
			text = append(text, name+d.standing(c.launches[i], s.Text)+d.brief(name).measuredFrom().SHA256...)
		}
		if b, err := logbook.ReadShort(c.launches[i].Flight); err == nil {
			text = append(text, b...)
		}
	}
	return digestOf(text)
}

// keepNewest removes all entries of a folder that are meant but the newest n.
func keepNewest(dir string, n int, meant func(name string) bool) {
	list, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	type aged struct {
		name string
		at   time.Time
	}
	var all []aged
	for _, e := range list {
		if info, err := e.Info(); err == nil && meant(e.Name()) {
			all = append(all, aged{e.Name(), info.ModTime()})
		}
	}
	slices.SortFunc(all, func(a, b aged) int { return b.at.Compare(a.at) })
	for _, old := range all[min(n, len(all)):] {
		os.RemoveAll(filepath.Join(dir, old.name))
	}
}
