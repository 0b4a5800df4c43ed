package desk

import (
	"context"
	"encoding/json"
	"errors"

	"padside/camera"
	"padside/fault"
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
	Stale    bool       `json:"stale"` // the file has changed since
	Place    *PlanPlace `json:"place"` // null where the file cannot be read
	Plan     *KeptPlan  `json:"plan"`  // null where nothing was worked out
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
	StandOff  float64  `json:"stand_off_m"`
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
	Of string `json:"of"` // digest of the shoot file
	*PlanSheet
}

// SampleShoot is a shoot file to begin with.
const SampleShoot = `format = 1
title = "Club day"

[[camera]]
name = "high-speed camera"
pixel_pitch = "6.6 um"
modes = [ { width = 1920, height = 1080, rate = "1000 Hz" } ]
exposure = { shortest = "5 us", longest = "1/100 s" }
iso = { lowest = 500, highest = 8000 }

[[camera]]
name = "phone"
pixel_pitch = "1.4 um"
modes = [ { width = 1280, height = 720, rate = "240 Hz" } ]
exposure = { shortest = "1/20000 s", longest = "1/240 s" }
lens = { focal_length = "4.3 mm", widest = 1.8 }

[lens]
focal_length = "25 mm"
widest = 1.4

[place]
range = "6.00(2) m"
height = "0.6 m"
rotated = true

[light]
ev100 = "bright overcast"

[reference]
kind = "rod"
length = "2 m"
marks = 6
range = "5.80(2) m"

[motion]              # or flight = "../../flights/NAME.toml", or launch = "../../launches/NAME/launch.toml"
acceleration = "400 m/s2"
top_speed = "32 m/s"
vehicle_length = "0.45 m"

[[question]]
answer = "time_to_speed"
speed = "60 mph"
within = "2 %"

[[question]]
answer = "gate_speed"
height = "1.4 m"
within = "2 %"
`

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
	if kept != nil && json.Unmarshal(kept, &plan) == nil && plan.PlanSheet != nil {
		p.Plan, p.Stale = &plan, plan.Of != p.Revision
	}
	p.Place = placeOf(&f.Shoot)
	if p.Plan != nil && !p.Stale {
		plan.shoot = f.Shoot
		p.Place.StandOff = plan.StandOff
		p.word()
	} else {
		p.Plan = nil
	}
	return p, nil
}

// placeOf is where a shoot's things stand.
func placeOf(s *shoot.Shoot) *PlanPlace {
	p := &PlanPlace{Range: s.Place.Range.Value, Lens: s.Place.Height, Vehicle: s.Expected.Length, StandOff: s.Expected.StandOff()}
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
func (p *PlanPage) word() {
	for _, o := range p.Plan.Options {
		m := PlanMode{Name: o.Name(), Lines: optionLines(o), Questions: []PlanQuestion{}, Films: mayAnswer(o)}
		for i, q := range o.Questions {
			m.Questions = append(m.Questions, PlanQuestion{q.Verdict, askedName(p.Plan.shoot.Questions[i]), forecastText(q), q.Change})
		}
		p.Modes = append(p.Modes, m)
	}
	for _, b := range p.Plan.Pictures {
		p.Bursts = append(p.Bursts, burstText(b))
	}
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
	text, err := d.book.ShootText(name)
	if err != nil {
		return err
	}
	path := d.book.ShootPath(name)
	var s *PlanSheet
	if o.Takes > 0 {
		s, err = Rehearse(ctx, path, o)
	} else {
		s, err = Plan(ctx, path, o.Options)
	}
	if err != nil {
		return err
	}
	b, err := indented(KeptPlan{digestOf(text), s})
	if err != nil {
		return err
	}
	if err := d.book.KeepPlan(name, b); err != nil {
		return err
	}
	d.watch.tell(Event{Kind: "shoot"})
	return nil
}
