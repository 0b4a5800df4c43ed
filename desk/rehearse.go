package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"

	"padside/fault"
	"padside/shoot"
	"padside/staged"
)

// RehearseOptions says how often to rehearse, and where to leave the films. The zero value is the documented default.
type RehearseOptions struct {
	Options
	Takes int    // of each mode; 0: 4
	Mode  int    // the only mode to rehearse, counted from 1 as the plan lists them; 0: each that may answer
	Dir   string // where films, launch files and answers stay; empty: nowhere
}

// defaultTakes is how often each mode is filmed.
const defaultTakes = 4

// Rehearse plans a shoot, then films each mode that may answer in simulation, measures the pictures as those of a real launch, and sets what came out
// beside the truth.
func Rehearse(ctx context.Context, path string, o RehearseOptions) (*PlanSheet, error) {
	if o.Takes < 0 {
		return nil, fault.Requestf("give --takes 4", "%d takes cannot be filmed", o.Takes)
	}
	s, err := Plan(ctx, path, o.Options)
	if err != nil {
		return nil, err
	}
	if o.Mode < 0 || o.Mode > len(s.Options) {
		return nil, fault.Requestf(fmt.Sprintf("the plan has modes 1 to %d", len(s.Options)), "there is no mode %d", o.Mode)
	}
	dir := o.Dir
	if dir == "" {
		if dir, err = os.MkdirTemp("", "padside-rehearse-"); err != nil {
			return nil, err
		}
		defer os.RemoveAll(dir)
	} else if err := emptyFolder(dir); err != nil {
		return nil, err
	}
	r := rehearsal{PlanSheet: s, RehearseOptions: o, dir: dir}
	if r.Takes == 0 {
		r.Takes = defaultTakes
	}
	for i, option := range s.Options {
		if o.Mode == i+1 || o.Mode == 0 && mayAnswer(option) {
			if err := r.rehearse(ctx, i, option); err != nil {
				return nil, err
			}
		}
	}
	return s, nil
}

// mayAnswer says whether a mode is worth filming: some question that is measured has an interval foreseen.
func mayAnswer(o *shoot.Option) bool {
	return slices.ContainsFunc(o.Questions, func(q shoot.Forecast) bool { return q.HalfWidth != nil })
}

// rehearsal is a plan being filmed.
type rehearsal struct {
	*PlanSheet
	RehearseOptions
	dir string
}

// rehearse films one mode several times, and adds to its questions what came out.
func (r *rehearsal) rehearse(ctx context.Context, index int, o *shoot.Option) error {
	heard := make([]heard, len(r.shoot.Questions))
	for take := range r.Takes {
		film := r.shoot.Film(o, r.Seed+uint64(take)+uint64(index)<<16)
		name := fmt.Sprintf("mode-%d-take-%d", index+1, take+1)
		m, err := r.take(ctx, name, film, r.Seed+uint64(take))
		var said *fault.Error
		switch {
		case err == nil:
			for i, q := range r.shoot.Questions {
				heard[i].add(q, film, m)
			}
		case ctx.Err() != nil || !errors.As(err, &said) || said.Kind != fault.NoAnswer:
			return fmt.Errorf("rehearse %s: %w", o.Name(), err)
		}
		if r.Dir == "" {
			if err := os.RemoveAll(filepath.Join(r.dir, "footage", name)); err != nil {
				return err
			}
		}
	}
	for i := range heard {
		if r.shoot.Questions[i].Answer != shoot.Pictures {
			o.Questions[i].Rehearsed = heard[i].sum(r.Takes)
		}
	}
	return nil
}

// take draws one film, writes its launch file as the plan says it would be known, and measures it.
func (r *rehearsal) take(ctx context.Context, name string, film *shoot.Film, marks uint64) (*Measurement, error) {
	progress := func(stage string, done, total int) { r.progress(name+": "+stage, done, total) }
	shot, at := staged.Shot{Take: film.Take, Clip: film.Clip(), Tick: film.Tick}, staged.Path(name)
	if shot.Clip {
		at = staged.ClipPath(name)
	}
	shot.Text = staged.RehearsedText(&r.shoot, film, at, marks)
	path, err := staged.WriteAs(ctx, r.dir, name, shot, progress)
	if err != nil {
		return nil, err
	}
	m, err := Measure(ctx, path, Options{Seed: r.Seed, Progress: progress})
	if err != nil || r.Dir == "" {
		return m, err
	}
	return m, m.Keep(filepath.Dir(path))
}

// heard is what the takes said to one question.
type heard []shoot.Judged

// add takes over the answer of one film.
func (h *heard) add(q shoot.Question, f *shoot.Film, m *Measurement) {
	for _, a := range m.Sheet.Answers {
		if !q.Is(a) || a.Value == nil {
			continue
		}
		if j, ok := f.Judge(a, lastFollowed(m)); ok {
			*h = append(*h, j)
		}
		return
	}
}

// lastFollowed is the last frame in which the vehicle of a film was followed, -1 if in none.
func lastFollowed(m *Measurement) int {
	if len(m.Lanes) == 0 || len(m.Lanes[0].Path.Points) == 0 {
		return -1
	}
	p := m.Lanes[0].Path.Points
	return p[len(p)-1].Frame
}

// sum is what comes of all takes.
func (h heard) sum(takes int) *shoot.Rehearsed {
	out := &shoot.Rehearsed{Takes: takes, Answered: len(h)}
	if len(h) == 0 {
		return out
	}
	var halves []float64
	var square float64
	for _, j := range h {
		halves, square = append(halves, j.Half), square+j.Off*j.Off
		if j.Held {
			out.Covered++
		}
	}
	slices.Sort(halves)
	half, rms := halves[len(halves)/2], math.Sqrt(square/float64(len(h)))
	out.Half, out.Error = &half, &rms
	return out
}
