package desk

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"padside/logbook"
	"padside/scene"
	"padside/staged"
)

// DemoOptions says where the demo leaves its logbook and where it tells what it does.
type DemoOptions struct {
	Dir      string    // made when missing; must be empty
	Out      io.Writer // answers beside the truth
	Progress func(stage string, done, total int)
}

// Demo draws an invented club day, measures it, prints the answers beside the truth, and leaves a logbook in the folder:
// one vehicle with five fills of water, a race of four, a motor rocket. It needs nothing but the program.
func Demo(ctx context.Context, o DemoOptions) error {
	if err := emptyFolder(o.Dir); err != nil {
		return err
	}
	d, err := Open(o.Dir, true)
	if err != nil {
		return err
	}
	defer d.Close()
	day := demoDay{DemoOptions: o, desk: d, club: scene.ClubDay(), flown: map[int][]scene.Known{}}
	return day.run(ctx)
}

// demoDay is a club day being told.
type demoDay struct {
	DemoOptions
	desk      *Desk
	club      scene.Club
	held, all int                   // answers whose interval holds the truth, and answers whose truth is known
	flown     map[int][]scene.Known // the truth of fills, by their water
}

// demoMarks is the seed by which the marks on the rod are misplaced: one for the setup, for they are placed once.
const demoMarks = 1

func (d *demoDay) run(ctx context.Context) error {
	d.say("An invented club day, drawn by padside and measured from its pictures alone.\n")
	if err := d.desk.book.PutSetup(d.club.Setup, staged.SetupText(d.club.Fills[0].Take, demoMarks)); err != nil {
		return err
	}
	if err := d.writeModel(); err != nil {
		return err
	}
	told := d.club.Fills[d.club.Entry].Name
	for _, one := range d.launches() {
		m, err := d.measure(ctx, one)
		if err != nil {
			return err
		}
		beside, err := m.besideTruth(one.Take.Known())
		if err != nil {
			return err
		}
		d.held, d.all = d.held+beside.held, d.all+beside.all
		if one.Name == told || one.Bottle == nil {
			err = beside.table(d.Out)
		} else {
			err = beside.line(d.Out)
		}
		if err != nil {
			return err
		}
	}
	if err := d.sweep(ctx); err != nil {
		return err
	}
	if err := d.race(ctx); err != nil {
		return err
	}
	d.say("\nThe 95 %% interval holds the truth in %d of %d answers; 95 in 100 is what it promises.\n", d.held, d.all)
	d.say("Left in %s: for each launch its file, answers.json, trace.csv, history.csv, streak.png, frame.png.\n", d.Dir)
	if err := d.shoot(); err != nil {
		return err
	}
	d.say("Pressurised bottles burst and motors burn: keep the stand-off, wear eye protection, and let the local code and the range safety officer decide.\n")
	return nil
}

func (d *demoDay) say(format string, args ...any) { fmt.Fprintf(d.Out, format, args...) }

// launches lists the day's launches in the order in which they are flown: what is told whole first.
func (d *demoDay) launches() []scene.ClubLaunch {
	entry := d.club.Fills[d.club.Entry]
	list := []scene.ClubLaunch{entry, d.club.Motor}
	for _, f := range d.club.Fills {
		if f.Name != entry.Name {
			list = append(list, f)
		}
	}
	return append(list, d.club.Rivals...)
}

// measure draws a launch's stills, writes its file, measures it as `padside measure` does and keeps what came out.
func (d *demoDay) measure(ctx context.Context, one scene.ClubLaunch) (*Measurement, error) {
	progress := d.stages(one.Name)
	path, err := staged.Write(ctx, d.Dir, one.Name, one.Take, demoMarks, progress)
	if err != nil {
		return nil, err
	}
	m, err := Measure(ctx, path, Options{Progress: progress})
	if err != nil {
		return nil, err
	}
	state, err := d.desk.book.State(one.Name)
	if err != nil {
		return nil, err
	}
	if err := d.desk.keep(ctx, one.Name, state, m); err != nil {
		return nil, err
	}
	return m, m.keepFrame(ctx, filepath.Dir(path))
}

// stages names the launch in what progress says.
func (d *demoDay) stages(name string) func(string, int, int) {
	if d.Progress == nil {
		return nil
	}
	return func(stage string, done, total int) { d.Progress(name+": "+stage, done, total) }
}

func emptyFolder(dir string) error {
	list, err := os.ReadDir(dir)
	if err == nil && len(list) > 0 {
		return faultNotEmpty(dir)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return faultUnwritable(dir, err)
	}
	return nil
}

// keepFrame leaves the frame in the middle of the flight with the trace on it.
func (m *Measurement) keepFrame(ctx context.Context, dir string) error {
	points := m.Lanes[0].Path.Points
	b, err := m.Overlay(ctx, points[3*len(points)/4].Frame)
	if err != nil {
		return err
	}
	return logbook.WriteAtomic(dir, map[string][]byte{"frame.png": b})
}
