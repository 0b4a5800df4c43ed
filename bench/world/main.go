// Command world judges what padside answers of footage as people film it. It draws launches by chance over the whole range of rates, pictures,
// distances, lenses, vehicles and light, in classes named after what a camera or the world does to them, films them with ffmpeg, writes the
// launch file as a careful user would (who does not state what the class is about), measures, and prints for each class, as a table in Markdown:
//
//   - takes, answers, and how many of the 95 % intervals hold the truth;
//   - the same of takes whose heights lie within 0.7 px, rms, of a line through the true ones: what misses there is not the trace's doing;
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
//	go run ./bench/world -seeds 40 -first 1000000 -untold # what it costs not to state the shutter
package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"padside/bench/cost"
	"padside/bench/takes"
	"padside/desk"
	"padside/logbook"
)

// reported is the first seed of those that are reported.
const reported = 1000000

type settings struct {
	seeds   int
	first   uint64
	only    string
	keep    string
	verbose bool
	drop    bool   // footage is removed once it is judged
	take    string // key of the class of the one take to judge: what the command calls itself with
}

func main() {
	var o settings
	flag.IntVar(&o.seeds, "seeds", 12, "takes per class")
	flag.Uint64Var(&o.first, "first", 1, "first seed")
	flag.StringVar(&o.only, "only", "", "only classes of this group or key, or whose name holds this")
	flag.StringVar(&o.keep, "keep", "", "keep the footage in this folder, and take what is there already")
	flag.BoolVar(&o.verbose, "v", false, "print every answer that misses, every refusal, how far places are off and every take's time")
	flag.StringVar(&o.take, "take", "", "judge one take of the class of this key, by the first seed, and print its counts as JSON")
	untold := flag.Bool("untold", false, "judge by how much wider peak speed is where a rolling shutter is not stated, in place of the classes")
	flag.Parse()
	if *untold {
		if err := o.untold(context.Background()); err != nil {
			fmt.Fprintln(os.Stderr, "world:", err)
			os.Exit(1)
		}
		return
	}
	if o.take != "" {
		if err := o.alone(context.Background()); err != nil {
			fmt.Fprintln(os.Stderr, "world:", err)
			os.Exit(1)
		}
		return
	}
	if err := run(context.Background(), o); err != nil {
		fmt.Fprintln(os.Stderr, "world:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, o settings) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	chosen := only(o.only)
	if len(chosen) == 0 {
		return fmt.Errorf("no class, group or name holds %q", o.only)
	}
	if o.keep == "" {
		temporary, err := os.MkdirTemp("", "padside-world-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(temporary)
		o.keep = temporary
		o.drop = true
	}
	kind := "development"
	if o.first >= reported {
		kind = "reported"
	}
	fmt.Printf("%s seeds %d to %d, %s\n\n%s\n", kind, o.first, o.first+uint64(o.seeds)-1, time.Now().Format(time.DateOnly), heading)
	groups, all := map[string]*tally{}, &tally{}
	for _, c := range chosen {
		t := &tally{}
		for i := range uint64(o.seeds) {
			one, err := o.apart(ctx, self, c, o.first+i)
			if err != nil {
				return err
			}
			t.join(one)
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
			all.join(g)
		}
	}
	fmt.Printf("\nOff by, in half widths of the interval (if an interval is right and its error normal: -0.51, 0, 0.51):\n\n%s", all.sides())
	fmt.Printf("\n%.0f s of processor time\n", cost.Spent().Seconds())
	return nil
}

// apart judges one take in a process of its own, for a fall of the program is one failure of many to be counted.
func (o *settings) apart(ctx context.Context, self string, c class, seed uint64) (*tally, error) {
	cmd := exec.CommandContext(ctx, self, "-take", c.key, "-first", fmt.Sprint(seed), "-keep", o.keep, fmt.Sprintf("-v=%v", o.verbose))
	var out, said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &said
	err := cmd.Run()
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if o.drop {
		os.RemoveAll(folder(o.keep, c, seed))
	}
	os.Stderr.Write(said.Bytes())
	t := &tally{}
	if err == nil {
		err = json.Unmarshal(out.Bytes(), t)
	}
	if err != nil {
		fmt.Fprintf(os.Stderr, "%s %d: the program fell: %v\n", c.key, seed, err)
		return &tally{Takes: 1, Failed: 1}, nil
	}
	return t, nil
}

// folder is where the take of a class and seed lies.
func folder(dir string, c class, seed uint64) string {
	return filepath.Join(dir, fmt.Sprintf("%s-%d", c.key, seed))
}

// alone draws, films, measures and judges one take, and prints its counts.
func (o *settings) alone(ctx context.Context) error {
	i := slices.IndexFunc(classes(), func(c class) bool { return c.key == o.take })
	if i < 0 || o.keep == "" {
		return fmt.Errorf("-take needs the key of a class and -keep; there is no class %q", o.take)
	}
	c := classes()[i]
	begin, dir := cost.Spent(), folder(o.keep, c, o.first)
	s := c.draw(o.first)
	if err := s.film(ctx, dir); err != nil {
		return fmt.Errorf("%s, seed %d: film: %w", c.name, o.first, err)
	}
	filmed := cost.Spent()
	if err := logbook.WriteAtomic(dir, map[string][]byte{"launch.toml": s.launchText()}); err != nil {
		return err
	}
	m, err := desk.Measure(ctx, filepath.Join(dir, "launch.toml"), desk.Options{Seed: o.first})
	say := func(format string, args ...any) {
		if o.verbose {
			fmt.Fprintf(os.Stderr, "%s %d: %s\n", c.key, o.first, fmt.Sprintf(format, args...))
		}
	}
	t := &tally{}
	t.judge(s, m, err, say)
	say("%d frames, %s; drawn in %.1f s, measured in %.1f s of processor time", len(s.recording.Frames), s.words(), (filmed - begin).Seconds(), (cost.Spent() - filmed).Seconds())
	return json.NewEncoder(os.Stdout).Encode(t)
}

// film writes the footage, unless it is there.
func (s *shot) film(ctx context.Context, folder string) error {
	s.clip.Recording = s.recording
	clip := &s.clip
	if s.stills {
		clip = nil
	}
	return takes.Film(ctx, s.take.Scene, folder, s.footage(), clip)
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
