package desk

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"

	"padside/disk"
	"padside/fault"
	"padside/logbook"
	"padside/study"
)

// RaceView is a race of launches of the logbook, as the compare page shows it.
type RaceView struct {
	ID     string     `json:"id"`
	Job    *Job       `json:"job"`    // that is at it, or was last; null where none is known
	Ready  bool       `json:"ready"`  // clip and photo finish are there
	Finish string     `json:"finish"` // the height raced to, in words; this and the rest where it is ready
	Clip   *RaceFile  `json:"clip"`
	Still  *RaceFile  `json:"still"`
	Lines  []RaceLine `json:"lines"` // in the order of finishing, who did not finish last

	Files map[string]string `json:"files,omitempty"` // SHA-256 of clip and photo finish as they were drawn
}

// RaceLine is one launch's result in words.
type RaceLine struct {
	Number int    `json:"number"` // of the launch, from 1
	Title  string `json:"title"`
	Place  string `json:"place"` // "1st", "2nd ="; empty where the finish was not reached
	Time   string `json:"time"`  // with its 95 % interval, or why there is none
	Behind string `json:"behind"`
}

// Files of a race in the logbook's folder races/<id>.
const (
	racesDir  = "races"
	raceClip  = "race.mp4"
	raceStill = "photo-finish.png"
	raceView  = "race.json"
	mostRace  = 1 << 30 // bytes of a race's clip that are read
	keptRaces = 12      // the newest: a race can always be drawn again
)

var raceID = regexp.MustCompile(`^[0-9a-f]{16}$`)

// Race draws a race of launches of the logbook, as a job; where it has been drawn from the launches as they stand, that is returned. Of o
// the height, the slowness and the scale count.
func (d *Desk) Race(names []string, o RaceOptions) (*RaceView, error) {
	if err := distinct(names); err != nil {
		return nil, err
	}
	if n := len(names); n == 0 || n > mostRunners {
		return nil, rightNumber(n)
	}
	key, lanes := fmt.Sprint(Program, o.Finish, o.Slow, o.AsFilmed), 0
	for _, name := range names {
		l, s, err := d.scaled(name)
		if err != nil {
			return nil, err
		}
		lanes += max(1, l.Trace.Lanes)
		key += "\x00" + name + "\x00" + d.standing(l, s.Text) + "\x00" + lies(l.Footage.Path)
	}
	if err := rightNumber(lanes); err != nil {
		return nil, err
	}
	id := digestOf([]byte(key))[:16]
	if v, err := d.RaceOf(id); err == nil && (v.Ready || v.Job != nil && !v.Job.Over()) {
		return v, nil
	}
	dir := d.raceDir(id)
	o.Clip, o.Still = filepath.Join(dir, raceClip), filepath.Join(dir, raceStill)
	if err := o.check(); err != nil {
		return nil, err
	}
	j := d.jobs.start(d.ctx, Job{Race: id}, func(ctx context.Context, progress func(string, int, int)) error {
		o.Progress = progress
		return d.drawRace(ctx, id, names, o)
	})
	return &RaceView{ID: id, Job: &j, Lines: []RaceLine{}}, nil
}

// drawRace follows what has not been followed yet, and writes the race into the logbook.
func (d *Desk) drawRace(ctx context.Context, id string, names []string, o RaceOptions) error {
	r := contest{o: o}
	for _, name := range names {
		l, _, err := d.scaled(name)
		if err != nil {
			return err
		}
		f := d.recall(name, l)
		if f == nil {
			if f, err = followLaunch(ctx, l, o.Options); err != nil {
				return err
			}
			d.remember(name, l, f)
		}
		if err := r.enter(raceStart{launch: l, from: f}); err != nil {
			return err
		}
	}
	// The view goes first and comes last, with the digests of the others: where it is, the race is whole.
	if err := os.Remove(filepath.Join(d.raceDir(id), raceView)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fault.Failedf(err, "check the folder's permissions", "draw the race %s anew: %v", id, err)
	}
	s, err := r.run(ctx)
	if err != nil {
		return err
	}
	v := s.view(id)
	if v.Files, err = d.raceDigests(id, v); err != nil {
		return err
	}
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("write race: %w", err)
	}
	if err := logbook.WriteAtomic(d.raceDir(id), map[string][]byte{raceView: b}); err != nil {
		return err
	}
	d.forgetRaces()
	return nil
}

// raceDigests are the digests of what a race shows, as it lies in its folder.
func (d *Desk) raceDigests(id string, v *RaceView) (map[string]string, error) {
	digests := map[string]string{}
	for name, shown := range map[string]*RaceFile{raceClip: v.Clip, raceStill: v.Still} {
		if shown == nil {
			continue
		}
		b, err := disk.Read(filepath.Join(d.raceDir(id), name), mostRace)
		if err != nil {
			return nil, fault.Failedf(err, "", "read %s of the race %s: %v", name, id, err)
		}
		digests[name] = digestOf(b)
	}
	return digests, nil
}

// drawn says whether clip and photo finish are those that the view was drawn with. Races of earlier versions do not tell.
func (d *Desk) drawn(v *RaceView) bool {
	if v.Files == nil {
		return true
	}
	digests, err := d.raceDigests(v.ID, v)
	return err == nil && maps.Equal(digests, v.Files)
}

// view words a race for the page.
func (s *RaceSheet) view(id string) *RaceView {
	v := &RaceView{ID: id, Ready: true, Finish: s.read.GateText(s.Finish), Clip: s.Clip, Still: s.Still, Lines: []RaceLine{}}
	var listed []int
	add := func(place string, k int) {
		listed = append(listed, k)
		line := RaceLine{Number: k, Title: s.Launches[k-1].Title, Place: place, Time: timeWords(s.Times[k-1])}
		switch {
		case place == "":
			line.Time = "did not reach " + v.Finish + " in view"
		case !slices.Contains(s.Order[0], k):
			line.Behind = s.gap(k, s.Order[0][0])
		}
		v.Lines = append(v.Lines, line)
	}
	for i, p := range s.Order {
		for _, k := range p {
			add(study.PlaceWords(s.Order, i), k)
		}
	}
	for k := range s.Launches {
		if !slices.Contains(listed, k+1) {
			add("", k+1)
		}
	}
	return v
}

func (d *Desk) raceDir(id string) string { return filepath.Join(d.book.Dir(), racesDir, id) }

// RaceOf returns a race that was asked for.
func (d *Desk) RaceOf(id string) (*RaceView, error) {
	if !raceID.MatchString(id) {
		return nil, faultUnknown("race", id)
	}
	v := &RaceView{}
	b, err := disk.Read(filepath.Join(d.raceDir(id), raceView), logbook.MostKept)
	if err == nil && json.Unmarshal(b, v) == nil && v.ID == id && d.drawn(v) {
		return v, nil
	}
	if j := d.jobs.race(id); j != nil {
		return &RaceView{ID: id, Job: j, Lines: []RaceLine{}}, nil
	}
	return nil, faultUnknown("race", id)
}

// RaceFile opens the clip or the photo finish of a race; the caller closes it.
func (d *Desk) RaceFile(id, name string) (*os.File, error) {
	if !raceID.MatchString(id) || name != raceClip && name != raceStill {
		return nil, faultUnknown("race", id+" "+name)
	}
	f, err := disk.Open(filepath.Join(d.raceDir(id), name))
	if err != nil {
		return nil, faultUnknown("race", id+" "+name)
	}
	return f, nil
}

// forgetRaces removes all but the newest races.
func (d *Desk) forgetRaces() {
	keepNewest(filepath.Join(d.book.Dir(), racesDir), keptRaces, func(name string) bool {
		j := d.jobs.race(name)
		return raceID.MatchString(name) && (j == nil || j.Over()) // not what is being drawn
	})
}
