// Command coding shows what a codec costs first motion. Launches whose truth is known are measured from their true places with
// noise that is stated rightly, in the frames that count in the clip, from the drawn frames as no codec has touched them, and from the clip that a camera writes of them; package motion is
// told of no error of scale, so that what differs is the trace alone.
//
//	go run ./bench/coding -only motor -first 14000 -seeds 16
package main

import (
	"context"
	"flag"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"

	"padside/bench/takes"
)

func main() {
	seeds := flag.Int("seeds", 12, "takes")
	first := flag.Uint64("first", 13000, "first seed")
	only := flag.String("only", "motor", "the class")
	keep := flag.String("keep", "", "keep the footage in this folder, and take what is there already")
	ways := flag.String("ways", strings.Join(names(), ","), "which ways of seeing the launch")
	verbose := flag.Bool("v", false, "print every take")
	flag.Parse()
	if err := run(*seeds, *first, *only, *keep, strings.Split(*ways, ","), *verbose); err != nil {
		fmt.Fprintln(os.Stderr, "coding:", err)
		os.Exit(1)
	}
}

func run(seeds int, first uint64, only, dir string, ways []string, verbose bool) error {
	if dir == "" {
		temporary, err := os.MkdirTemp("", "padside-coding-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(temporary)
		dir = temporary
	}
	ctx := context.Background()
	tallies := map[string]*tally{}
	for _, c := range takes.Only(only) {
		for i := range seeds {
			seed := first + uint64(i)
			s := &shot{take: c.Draw(seed), class: c, folder: c.Folder(dir, seed), seed: seed}
			for _, name := range ways {
				w := wayNamed(name)
				if w == nil {
					return fmt.Errorf("no way %q: there are %s", name, strings.Join(names(), ", "))
				}
				obs, restU, err := w.see(ctx, s)
				if err != nil {
					fmt.Fprintf(os.Stderr, "%s %d %s: %v\n", c.Key, seed, name, err)
					continue
				}
				v, err := s.measure(ctx, obs, restU)
				if err != nil {
					fmt.Fprintf(os.Stderr, "%s %d %s: %v\n", c.Key, seed, name, err)
					continue
				}
				if verbose {
					fmt.Fprintf(os.Stderr, "%s %d %s: first motion off by %.2f, %.2f to %.2f frames\n", c.Key, seed, name, v.off, v.lo, v.hi)
				}
				t := tallies[name]
				if t == nil {
					t = &tally{}
					tallies[name] = t
				}
				t.add(v)
			}
		}
	}
	fmt.Println("| the launch is seen | takes | first motion held | rms error, frames | mean error | median width | time to speed held | rms error | median width |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|")
	for _, name := range ways {
		if t := tallies[name]; t != nil {
			t.print(name)
		}
	}
	return nil
}

// tally gathers verdicts of one way.
type tally struct{ of []verdict }

func (t *tally) add(v verdict) { t.of = append(t.of, v) }

func (t *tally) print(name string) {
	var held int
	var squares, sum float64
	var widths []float64
	var speed row
	for _, v := range t.of {
		if v.lo <= 0 && 0 <= v.hi {
			held++
		}
		squares, sum, widths = squares+v.off*v.off, sum+v.off, append(widths, v.hi-v.lo)
		for _, s := range v.speeds {
			speed.add(s)
		}
	}
	n := float64(len(t.of))
	fmt.Printf("| %s | %d | %d | %.2f | %+.2f | %.2f | %d of %d | %.2f %% | %.2f %% |\n", name, len(t.of), held, math.Sqrt(squares/n), sum/n, median(widths),
		speed.held, len(speed.widths), 100*math.Sqrt(speed.squares/float64(max(1, len(speed.widths)))), 100*median(speed.widths))
}

// row gathers answers of one kind.
type row struct {
	held    int
	squares float64
	widths  []float64
}

func (r *row) add(s span) {
	if s.lo <= 0 && 0 <= s.hi {
		r.held++
	}
	r.squares, r.widths = r.squares+s.off*s.off, append(r.widths, s.hi-s.lo)
}

// median is the middle value; 0 of none.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	x = slices.Sorted(slices.Values(x))
	return x[len(x)/2]
}
