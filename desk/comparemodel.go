package desk

import (
	"context"
	"os"
	"strings"
	"sync"

	"padside/metrology"
	"padside/units"
)

// CompareModelView is the flight model fitted to launches swept, as the compare page shows it. Model is null where the launches name no flight file
// in common, or the condition is none of its inputs.
type CompareModelView struct {
	Model  *SweepModel  `json:"model"`
	Fitted []ModelWords `json:"fitted"` // its inputs in words
	Best   []ModelWords `json:"best"`   // of each of its curves
}

// CompareModel fits the flight model of launches of the logbook that differ in a condition on purpose, from what was kept of them.
func (d *Desk) CompareModel(ctx context.Context, names []string, sweep string, want ReaderUnits) (*CompareModelView, error) {
	c, err := d.comparingKept(names, CompareOptions{Sweep: sweep})
	if err != nil {
		return nil, err
	}
	s, err := c.sheet(ctx)
	if err != nil {
		return nil, err
	}
	key := d.sweepKey(c, names)
	if s.Model = d.swept.of(key); s.Model == nil {
		if s.Model, err = c.explained(ctx, s); err != nil {
			return nil, err
		}
		d.swept.keep(key, s.Model)
	}
	v := &CompareModelView{Model: s.Model, Fitted: []ModelWords{}, Best: []ModelWords{}}
	if s.Model == nil {
		return v, nil
	}
	r, err := newReader(s.questions[0], want)
	if err != nil {
		return nil, err
	}
	for _, a := range s.Model.Fitted {
		value, interval := worded(a, units.Unit{Symbol: a.Unit, Num: 1, Den: 1})
		if a.Value != nil {
			value += " (" + interval + ")"
		}
		v.Fitted = append(v.Fitted, ModelWords{predictedName(a.ID), value})
	}
	for i := range s.Model.Curves {
		k := &s.Model.Curves[i]
		v.Best = append(v.Best, ModelWords{r.curveName(k), k.bestText(s.Sweep[0].written)})
	}
	return v, nil
}

// curveName names a curve of the model as the reader's questions would.
func (r reader) curveName(k *ModelCurve) string {
	if k.Speed != nil || k.Height != nil {
		return r.name(metrology.Answer{ID: k.ID, Speed: k.Speed, Height: k.Height, Unit: k.Unit})
	}
	return predictedName(k.ID)
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

// sweepKey is the digest of all that a model fitted to launches depends on.
func (d *Desk) sweepKey(c *comparing, names []string) string {
	text := []byte(c.o.Sweep)
	for i, name := range names {
		if s, err := d.book.State(name); err == nil {
			text = append(text, name+d.standing(c.launches[i], s.Text)...)
		}
		if b, err := os.ReadFile(c.launches[i].Flight); err == nil {
			text = append(text, b...)
		}
	}
	return digestOf(text)
}

// mostSwept is how many fitted sweeps stay in memory.
const mostSwept = 16

// sweeps are models fitted to sweeps, so that a page is not fitted anew each time it is drawn.
type sweeps struct {
	mu    sync.Mutex
	by    map[string]*SweepModel
	order []string // the oldest first
}

func (s *sweeps) of(key string) *SweepModel {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.by[key]
}

func (s *sweeps) keep(key string, m *SweepModel) {
	if m == nil {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.by == nil {
		s.by = map[string]*SweepModel{}
	}
	if s.by[key] == nil {
		s.order = append(s.order, key)
	}
	s.by[key] = m
	if len(s.order) > mostSwept {
		delete(s.by, s.order[0])
		s.order = s.order[1:]
	}
}
