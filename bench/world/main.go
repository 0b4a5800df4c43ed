// Command world judges what padside answers of footage as people film it. It draws launches by chance over the whole range of rates, pictures,
// distances, lenses, vehicles and light, in classes named after what a camera or the world does to them, films them with ffmpeg, writes the
// launch file as a careful user would (who does not state what the class is about), measures, and prints for each class, as a table in Markdown:
//
//   - takes, answers, and how many of the 95 % intervals hold the truth;
//   - grave misses: off by more than two half widths of the interval on the truth's side;
//   - losses unsaid: the trace strayed from the vehicle or ended early, answers were given, and no warning of the trace says so;
//   - takes refused, answers that are insufficient;
//   - the median half width of speeds, accelerations and times (relative to the truth) and of instants (in frames).
//
// Seeds below 1,000,000 are for development: what fails there may be looked at and mended. What is reported was drawn from 1,000,000 on, by seeds that
// nobody has looked at before. Each run prints which it used.
//
//	go run ./bench/world -seeds 12
//	go run ./bench/world -seeds 12 -first 1000000 -only camera
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"syscall"
	"time"

	"padside/desk"
	"padside/logbook"
	"padside/scene"
)

// reported is the first seed of those that are reported.
const reported = 1000000

type settings struct {
	seeds   int
	first   uint64
	only    string
	keep    string
	verbose bool
}

func main() {
	var o settings
	flag.IntVar(&o.seeds, "seeds", 12, "takes per class")
	flag.Uint64Var(&o.first, "first", 1, "first seed")
	flag.StringVar(&o.only, "only", "", "only classes of this group or key, or whose name holds this")
	flag.StringVar(&o.keep, "keep", "", "keep the footage in this folder, and take what is there already")
	flag.BoolVar(&o.verbose, "v", false, "print every answer that misses, every refusal and every take's time")
	flag.Parse()
	if err := run(context.Background(), o); err != nil {
		fmt.Fprintln(os.Stderr, "world:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, o settings) error {
	chosen := only(o.only)
	if len(chosen) == 0 {
		return fmt.Errorf("no class, group or name holds %q", o.only)
	}
	dir := o.keep
	if dir == "" {
		temporary, err := os.MkdirTemp("", "padside-world-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(temporary)
		dir = temporary
	}
	kind := "development"
	if o.first >= reported {
		kind = "reported"
	}
	fmt.Printf("%s seeds %d to %d, %s\n\n%s\n", kind, o.first, o.first+uint64(o.seeds)-1, time.Now().Format(time.DateOnly), heading)
	groups := map[string]*tally{}
	for _, c := range chosen {
		t := &tally{}
		for i := range uint64(o.seeds) {
			if err := o.one(ctx, c, dir, o.first+i, t); err != nil {
				return err
			}
		}
		fmt.Println(t.row(c.group, c.name))
		if groups[c.group] == nil {
			groups[c.group] = &tally{}
		}
		groups[c.group].join(t)
	}
	for _, name := range groupNames {
		if g := groups[name]; g != nil {
			fmt.Println(g.row(name, "all"))
		}
	}
	fmt.Printf("\n%.0f s of processor time\n", spent().Seconds())
	return nil
}

// one draws, films, measures and judges one take.
func (o *settings) one(ctx context.Context, c class, dir string, seed uint64, t *tally) error {
	begin := spent()
	folder := filepath.Join(dir, fmt.Sprintf("%s-%d", c.key, seed))
	s := c.draw(seed)
	if err := s.film(ctx, folder); err != nil {
		return fmt.Errorf("%s, seed %d: film: %w", c.name, seed, err)
	}
	filmed := spent()
	if err := logbook.WriteAtomic(folder, map[string][]byte{"launch.toml": s.launchText()}); err != nil {
		return err
	}
	m, err := measure(ctx, filepath.Join(folder, "launch.toml"), seed)
	say := func(format string, args ...any) {
		if o.verbose {
			fmt.Fprintf(os.Stderr, "%s %d: %s\n", c.key, seed, fmt.Sprintf(format, args...))
		}
	}
	t.judge(s, m, err, say)
	say("%d frames, %s; drawn in %.1f s, measured in %.1f s of processor time", len(s.recording.Frames), s.words(), (filmed - begin).Seconds(), (spent() - filmed).Seconds())
	if o.keep == "" {
		os.RemoveAll(folder)
	}
	return nil
}

// measure measures a launch; a fall of the program is one failure of many to be counted.
func measure(ctx context.Context, path string, seed uint64) (m *desk.Measurement, err error) {
	defer func() {
		if why := recover(); why != nil {
			m, err = nil, fmt.Errorf("the program fell: %v\n%s", why, debug.Stack())
		}
	}()
	return desk.Measure(ctx, path, desk.Options{Seed: seed})
}

// film writes the footage, unless it is there.
func (s *shot) film(ctx context.Context, folder string) error {
	whole := filepath.Join(folder, "whole") // written last
	if _, err := os.Stat(whole); err == nil {
		return nil
	}
	if err := os.MkdirAll(filepath.Join(folder, "stills"), 0o755); err != nil {
		return err
	}
	var err error
	if s.stills {
		_, err = scene.WriteStills(ctx, s.take.Scene, filepath.Join(folder, s.footage()), scene.StillsOptions{Format: scene.JPEG})
	} else {
		s.clip.Recording = s.recording
		err = scene.WriteClip(ctx, s.take.Scene, filepath.Join(folder, s.footage()), s.clip)
	}
	if err != nil {
		return err
	}
	return os.WriteFile(whole, nil, 0o644)
}

// spent is the processor time this process and its children have taken.
func spent() time.Duration {
	var sum time.Duration
	for _, who := range []int{syscall.RUSAGE_SELF, syscall.RUSAGE_CHILDREN} {
		var u syscall.Rusage
		if syscall.Getrusage(who, &u) == nil {
			sum += time.Duration(u.Utime.Nano() + u.Stime.Nano())
		}
	}
	return sum
}

// only lists the class of a key, or those of a group, or those whose name holds the text; all where it is empty.
func only(text string) []class {
	for _, fits := range []func(c class) bool{
		func(c class) bool { return c.key == text },
		func(c class) bool { return c.group == text },
		func(c class) bool { return strings.Contains(c.name, text) },
	} {
		var out []class
		for _, c := range classes() {
			if fits(c) {
				out = append(out, c)
			}
		}
		if out != nil {
			return out
		}
	}
	return nil
}
