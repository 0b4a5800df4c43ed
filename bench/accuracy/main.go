// Command accuracy films drawn launches whose truth is known, measures them from their pictures alone, as a
// user would (marks of the rod misplaced by half a pixel, the vehicle found by itself, first motion unknown),
// and prints how far the answers err and how often the 95 % intervals hold the truth, as tables in Markdown.
//
//	go run ./bench/accuracy -seeds 12
package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"padside/bench/takes"
	"padside/desk"
	"padside/logbook"
	"padside/scene"
	"padside/staged"
)

func main() {
	seeds := flag.Int("seeds", 12, "takes per class")
	first := flag.Uint64("first", 500, "first seed")
	only := flag.String("only", "", "only classes whose name holds this")
	dir := flag.String("keep", "", "keep the footage in this folder, and take what is there already")
	verbose := flag.Bool("v", false, "print every answer that misses, and every take's time")
	flag.Parse()
	if err := run(*seeds, *first, *only, *dir, *verbose); err != nil {
		fmt.Fprintln(os.Stderr, "accuracy:", err)
		os.Exit(1)
	}
}

func run(seeds int, first uint64, only, dir string, verbose bool) error {
	ctx := context.Background()
	keep := dir != ""
	if !keep {
		temporary, err := os.MkdirTemp("", "padside-accuracy-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(temporary)
		dir = temporary
	}
	fmt.Println(heading)
	for _, c := range takes.Only(only) {
		t := newTable(c.Name)
		for i := range seeds {
			seed := first + uint64(i)
			begin := time.Now()
			take := c.Draw(seed)
			m, err := shoot(ctx, take, c, c.Folder(dir, seed), seed)
			if !keep {
				os.RemoveAll(c.Folder(dir, seed))
			}
			if err != nil {
				t.lost = append(t.lost, fmt.Sprintf("seed %d: %v", seed, err))
				continue
			}
			t.add(seed, take, m, verbose)
			if verbose {
				fmt.Fprintf(os.Stderr, "%s seed %d: %.1f s\n", c.Name, seed, time.Since(begin).Seconds())
			}
		}
		t.print()
	}
	return nil
}

// shoot films a take, unless that was done, and measures it.
func shoot(ctx context.Context, t *scene.Take, c takes.Class, dir string, seed uint64) (*desk.Measurement, error) {
	if err := c.Film(ctx, t, dir); err != nil {
		return nil, err
	}
	text := staged.LaunchText(t, c.Footage(), seed)
	if c.Lean != "" {
		text = bytes.Replace(text, []byte("[scale]\n"), fmt.Appendf(nil, "[scale]\nlean = %q\n", c.Lean), 1)
	}
	if err := logbook.WriteAtomic(dir, map[string][]byte{"launch.toml": text}); err != nil {
		return nil, err
	}
	return desk.Measure(ctx, filepath.Join(dir, "launch.toml"), desk.Options{Seed: seed})
}
