package desk

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"text/tabwriter"

	"padside/logbook"
	"padside/metrology"
	"padside/scene"
)

// DemoOptions says where the demo leaves its logbook and where it tells what it does.
type DemoOptions struct {
	Dir      string    // made when missing; must be empty
	Out      io.Writer // answers beside the truth
	Progress func(stage string, done, total int)
}

// Demo draws an invented club day, measures it, prints the answers beside the truth, and
// leaves a logbook in the folder. It needs nothing but the program.
func Demo(ctx context.Context, o DemoOptions) error {
	if err := emptyFolder(o.Dir); err != nil {
		return err
	}
	d, err := Open(o.Dir, true)
	if err != nil {
		return err
	}
	defer d.Close()
	takes := []struct {
		name string
		take *scene.Take
	}{
		{"heron", scene.BottleRocket(11, scene.BottleOptions{Rate: 1600, Width: 400, Height: 960})},
		{"kite", scene.BottleRocket(12, scene.BottleOptions{Rate: 1250, Width: 400, Height: 960})},
		{"wren", scene.BottleRocket(14, scene.BottleOptions{Rate: 1000, Width: 400, Height: 960})},
		{"osprey", scene.MotorRocket(3)},
	}
	fmt.Fprintf(o.Out, "An invented club day, drawn by padside and measured from its pictures alone.\n")
	inside, all := 0, 0
	for i, one := range takes {
		path, err := writeTake(ctx, o, one.name, one.take, uint64(i+1))
		if err != nil {
			return err
		}
		m, err := Measure(ctx, path, Options{Progress: o.Progress})
		if err != nil {
			return err
		}
		state, err := d.book.State(one.name)
		if err != nil {
			return err
		}
		if err := d.keep(ctx, one.name, state, m); err != nil {
			return err
		}
		if err := m.keepFrame(ctx, filepath.Dir(path)); err != nil {
			return err
		}
		held, known, err := m.besideTruth(o.Out, one.take.Known())
		if err != nil {
			return err
		}
		inside, all = inside+held, all+known
	}
	fmt.Fprintf(o.Out, "\nThe 95 %% interval holds the truth in %d of %d answers; 95 in 100 is what it promises.\n", inside, all)
	fmt.Fprintf(o.Out, "Left in %s: for each launch its file, answers.json, trace.csv, history.csv, streak.png, frame.png.\n", o.Dir)
	fmt.Fprintf(o.Out, "Pressurised bottles burst and motors burn: keep the stand-off, wear eye protection, and let the local code and the range safety officer decide.\n")
	return nil
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

// writeTake draws the stills of a take and writes its launch file, whose path it returns.
func writeTake(ctx context.Context, o DemoOptions, name string, t *scene.Take, seed uint64) (string, error) {
	stills := filepath.Join(o.Dir, "footage", name)
	dir := filepath.Join(o.Dir, "launches", name)
	for _, d := range []string{stills, dir} {
		if err := os.MkdirAll(d, 0o755); err != nil {
			return "", faultUnwritable(d, err)
		}
	}
	drawn := make(chan int, t.Scene.Frames())
	finished := make(chan struct{})
	go func() {
		defer close(finished)
		n := 0
		for range drawn {
			n++
			if o.Progress != nil {
				o.Progress("draw "+name, n, t.Scene.Frames())
			}
		}
	}()
	_, err := scene.WriteStills(ctx, t.Scene, stills, scene.StillsOptions{Format: scene.JPEG, OnFrame: func() { drawn <- 1 }})
	close(drawn)
	<-finished
	if err != nil {
		return "", fmt.Errorf("draw %s: %w", name, err)
	}
	text := LaunchText(t, "../../footage/"+name, seed)
	return filepath.Join(dir, "launch.toml"), logbook.WriteAtomic(dir, map[string][]byte{"launch.toml": text})
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

// besideTruth prints each answer whose truth is known, and counts how many intervals hold it.
func (m *Measurement) besideTruth(w io.Writer, known []scene.Known) (held, all int, err error) {
	fmt.Fprintf(w, "\n%s (%d frames, %.5g per second)\n", m.Sheet.Launch.Title, m.Sheet.Footage.Frames, m.Sheet.Footage.RateHz)
	r, err := newReader(m.Launch.Questions, ReaderUnits{})
	if err != nil {
		return 0, 0, err
	}
	t := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "\tmeasured\t95 % interval\ttruth\tlimited by")
	for _, a := range m.Sheet.Answers {
		truth, ok := truthOf(a, known)
		u := r.units(a)[0]
		value, interval := worded(a, u)
		beside := ""
		if ok && a.Value != nil {
			all++
			beside = "outside: "
			if a.Interval[0] <= truth && truth <= a.Interval[1] {
				held++
				beside = ""
			}
			place, _ := metrology.Place(u.DeltaFromSI(*a.U), metrology.Digits)
			beside += metrology.Round(u.FromSI(truth), place)
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\n", r.name(a), value, interval, beside, limitedBy(a))
	}
	return held, all, t.Flush()
}

// truthOf finds the truth an answer speaks of. The time in view depends on which point of the
// vehicle was traced and is left out.
func truthOf(a metrology.Answer, known []scene.Known) (float64, bool) {
	at := 0.0
	switch {
	case a.Speed != nil:
		at = *a.Speed
	case a.Height != nil:
		at = *a.Height
	}
	for _, k := range known {
		if k.ID == a.ID && k.Lane == a.Lane && math.Abs(k.At-at) < 1e-6 && k.ID != "view_time" {
			return k.Value, true
		}
	}
	return 0, false
}
