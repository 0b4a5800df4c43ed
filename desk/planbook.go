package desk

import (
	"context"
	"encoding/json"
	"errors"

	"padside/camera"
	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/shoot"
)

// ShootCard is a shoot in a list.
type ShootCard struct {
	Name    string   `json:"name"`
	Title   string   `json:"title"`
	Cameras int      `json:"cameras"`
	Problem *Problem `json:"problem"` // where its file cannot be read
}

// PlanPage is a shoot as its page shows it: its file, what was worked out of it, and what a side view is drawn from.
type PlanPage struct {
	Name     string     `json:"name"`
	Title    string     `json:"title"`
	Text     string     `json:"text"`
	Revision string     `json:"revision"`
	Problem  *Problem   `json:"problem"` // why the file cannot be read
	Job      *Job       `json:"job"`
	Stale    bool       `json:"stale"` // what was worked out was of another file, or another motion
	Plan     *KeptPlan  `json:"plan"`  // null where nothing was worked out of it as it stands
	Place    *PlanPlace `json:"place"` // the same
	Given    string     `json:"given"` // what is the same for all modes, in words; with the plan
	Modes    []PlanMode `json:"modes"` // of the plan, in its order
	Bursts   []string   `json:"bursts"`
}

// PlanPlace is where things stand: m, distances level from the camera, heights above the ground under the vehicle's tail.
type PlanPlace struct {
	Range     float64  `json:"range_m"`
	Lens      float64  `json:"lens_m"`
	Vehicle   float64  `json:"vehicle_m"`
	RodRange  *float64 `json:"rod_range_m"` // null: no rod
	RodLength float64  `json:"rod_m"`
	StandOff  *float64 `json:"stand_off_m"` // null: none is given
	Front     float64  `json:"front_m"`     // height at rest of the end that goes ahead
	Falls     bool     `json:"falls"`       // it goes down from there
}

// PlanMode words one option of a plan.
type PlanMode struct {
	Name      string         `json:"name"`
	Lines     []string       `json:"lines"`
	Questions []PlanQuestion `json:"questions"`
	Films     bool           `json:"films"` // worth a rehearsal
}

// PlanQuestion words one forecast.
type PlanQuestion struct {
	Verdict shoot.Verdict `json:"verdict"`
	Name    string        `json:"name"`
	Text    string        `json:"text"`
	Change  string        `json:"change"`
}

// KeptPlan is a plan as it is kept beside its shoot.
type KeptPlan struct {
	Of string `json:"of"` // digest of what it depends on but footage
	// The footage of the launch whose motion is expected; left out where there is none.
	Footage *footage.Identity `json:"footage,omitempty"`
	*PlanSheet
}

// Shoots lists the logbook's shoots, the one changed last first.
func (d *Desk) Shoots(ctx context.Context) ([]ShootCard, error) {
	names, err := d.book.ShootNames()
	if err != nil {
		return nil, err
	}
	out := []ShootCard{}
	for _, name := range names {
		f, _, err := d.readShoot(name)
		if errors.Is(err, logbook.ErrUnknown) {
			continue // put aside meanwhile
		}
		c := ShootCard{Name: name, Title: name, Problem: problemOf(err)}
		if err == nil {
			c.Title, c.Cameras = titleOr(f.Shoot.Title, name), len(f.Shoot.Cameras)
		}
		out = append(out, c)
	}
	return out, ctx.Err()
}

func (d *Desk) readShoot(name string) (*logbook.ShootFile, []byte, error) {
	text, err := d.book.ShootText(name)
	if err != nil {
		return nil, nil, err
	}
	f, err := logbook.ParseShoot(text, d.book.ShootPath(name))
	return f, text, err
}

// PlanPage returns a shoot with what was worked out of it.
func (d *Desk) PlanPage(_ context.Context, name string) (*PlanPage, error) {
	f, text, err := d.readShoot(name)
	if text == nil {
		return nil, err
	}
	p := &PlanPage{Name: name, Title: name, Text: string(text), Revision: digestOf(text), Problem: problemOf(err), Job: d.jobs.shoot(name), Modes: []PlanMode{}, Bursts: []string{}}
	if err != nil {
		return p, nil
	}
	p.Title = titleOr(f.Shoot.Title, name)
	kept, err := d.book.KeptPlan(name)
	if err != nil {
		return nil, err
	}
	var plan KeptPlan
	if kept == nil || json.Unmarshal(kept, &plan) != nil || !plan.whole(len(f.Shoot.Questions)) {
		return p, nil
	}
	if p.Stale = plan.Of != planOf(f, text) || d.refilmed(f, &plan); p.Stale {
		return p, nil
	}
	plan.shoot, plan.flysAs = f.Shoot, flysAs(f)
	p.Plan, p.Place = &plan, placeOf(&f.Shoot, plan.StandOff)
	return p, p.word()
}

// planOf is the digest of what a plan depends on: the shoot file, and the launch or flight file that tells its motion.
func planOf(f *logbook.ShootFile, text []byte) string {
	for _, path := range []string{f.Flight, f.Launch} {
		if more, err := logbook.ReadShort(path); path != "" && err == nil {
			text = append(text[:len(text):len(text)], more...)
		}
	}
	return digestOf(text)
}

// refilmed says whether the footage of the launch whose motion a plan expects is another than the one that was measured for it.
func (d *Desk) refilmed(f *logbook.ShootFile, plan *KeptPlan) bool {
	if plan.Footage == nil || f.Launch == "" {
		return false
	}
	l, err := logbook.ReadLaunch(f.Launch)
	if err != nil {
		return false
	}
	is := d.compare(l.Footage.Path, *plan.Footage, nil, func(footage.Identity) { d.watch.tell(Event{Kind: "shoot"}) })
	return is.state == StateFootageChanged && !is.reading
}

// placeOf is where a shoot's things stand.
func placeOf(s *shoot.Shoot, standOff *float64) *PlanPlace {
	p := &PlanPlace{Range: s.Place.Range.Value, Lens: s.Place.Height, Vehicle: s.Expected.Length, StandOff: standOff, Front: s.Expected.Front(), Falls: s.Expected.Falls()}
	if s.Reference.Kind == camera.KindRod {
		at := p.Range
		if s.Reference.Range.Given {
			at = s.Reference.Range.Value
		}
		p.RodRange, p.RodLength = &at, s.Reference.Length
	}
	return p
}

// word puts the plan into words.
func (p *PlanPage) word() error {
	r, err := planReader(&p.Plan.shoot)
	if err != nil {
		return err
	}
	p.Given = p.Plan.given()
	for _, o := range p.Plan.Options {
		m := PlanMode{Name: o.Name(), Lines: optionLines(o), Questions: []PlanQuestion{}, Films: mayAnswer(o)}
		for i, q := range o.Questions {
			m.Questions = append(m.Questions, PlanQuestion{q.Verdict, asking(r, p.Plan.shoot.Questions[i]), forecastText(q), q.Change})
		}
		p.Modes = append(p.Modes, m)
	}
	for _, b := range p.Plan.Pictures {
		p.Bursts = append(p.Bursts, burstText(b))
	}
	return nil
}

// NewShoot adds a shoot to the logbook and returns its name.
func (d *Desk) NewShoot(text string) (string, error) {
	f, err := logbook.ParseShoot([]byte(text), d.book.ShootPath("new"))
	if err != nil {
		return "", err
	}
	if f.Shoot.Title == "" {
		return "", fault.Requestf(`write title = "Club day"`, "the shoot has no title")
	}
	name, err := d.book.NewShoot(f.Shoot.Title, []byte(text))
	if err == nil {
		d.watch.tell(Event{Kind: "shoot"})
	}
	return name, err
}

// PutShoot replaces a shoot of the logbook, where its file still is of the revision that the change was made on.
func (d *Desk) PutShoot(name, base, text string) error {
	now, err := d.book.ShootText(name)
	if err != nil {
		return err
	}
	if digestOf(now) != base {
		now = nil // never equal to what is there: the logbook says that it changed
	}
	if err := d.book.PutShoot(name, now, []byte(text)); err != nil {
		return err
	}
	d.watch.tell(Event{Kind: "shoot"})
	return nil
}

// TrashShoot puts a shoot aside.
func (d *Desk) TrashShoot(name string) error {
	if err := d.book.TrashShoot(name); err != nil {
		return err
	}
	d.watch.tell(Event{Kind: "shoot"})
	return nil
}

// StartPlan starts working out a shoot of the logbook, or returns the job that is at it already. With takes above 0 one mode, counted from 1, is filmed in
// simulation and measured so often.
func (d *Desk) StartPlan(name string, mode, takes int) (Job, error) {
	if _, _, err := d.readShoot(name); err != nil {
		return Job{}, err
	}
	return d.jobs.start(d.ctx, Job{Shoot: name}, func(ctx context.Context, progress func(string, int, int)) error {
		return d.plan(ctx, name, RehearseOptions{Options: Options{Progress: progress}, Mode: mode, Takes: takes})
	}), nil
}

func (d *Desk) plan(ctx context.Context, name string, o RehearseOptions) error {
	f, text, err := d.readShoot(name)
	if err != nil {
		return err
	}
	of, path := planOf(f, text), d.book.ShootPath(name)
	var s *PlanSheet
	if o.Takes > 0 {
		s, err = Rehearse(ctx, path, o)
	} else {
		s, err = Plan(ctx, path, o.Options)
	}
	if err != nil {
		return err
	}
	if err := d.keepRehearsals(name, of, s); err != nil {
		return err
	}
	b, err := indented(KeptPlan{of, s.id, s})
	if err != nil {
		return err
	}
	if err := d.book.KeepPlan(name, b); err != nil {
		return err
	}
	d.watch.tell(Event{Kind: "shoot"})
	return nil
}

// keepRehearsals carries over what was rehearsed before of the same plan, of modes that were not rehearsed now.
func (d *Desk) keepRehearsals(name, of string, s *PlanSheet) error {
	kept, err := d.book.KeptPlan(name)
	if err != nil {
		return err
	}
	var before KeptPlan
	if kept == nil || json.Unmarshal(kept, &before) != nil || !before.whole(len(s.shoot.Questions)) || before.Of != of || len(before.Options) != len(s.Options) {
		return nil
	}
	for i, o := range s.Options {
		for k := range o.Questions {
			if q := &o.Questions[k]; q.Rehearsed == nil && k < len(before.Options[i].Questions) {
				q.Rehearsed = before.Options[i].Questions[k].Rehearsed
			}
		}
	}
	return nil
}
