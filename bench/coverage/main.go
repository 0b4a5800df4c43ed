// Command coverage measures how often the 95 % intervals of package motion hold the truth, on
// simulated traces of physical flights (package flight), and how wide they are. It
// prints a table in Markdown.
//
//	go run ./bench/coverage -seeds 2000
package main

import (
	"context"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"sort"
	"strings"
	"sync"
	"time"

	"padside/metrology"
	"padside/motion"
)

func main() {
	seeds := flag.Int("seeds", 200, "traces per class")
	first := flag.Int("first", 10000, "number of the first trace")
	only := flag.String("only", "", "only classes whose name holds this")
	workers := flag.Int("workers", 2, "traces measured at the same time")
	verbose := flag.Bool("v", false, "print every miss")
	flag.Parse()
	begin := time.Now()
	var against alarms
	fmt.Println("| class | answer | traces | covered | median relative width | rms error | median size of error | median error |")
	fmt.Println("|---|---|---|---|---|---|---|---|")
	for i, c := range classes() {
		if !strings.Contains(c.name, *only) {
			continue
		}
		start := time.Now()
		tallies, err := study(c, plan{number: uint64(i), first: *first, traces: *seeds, workers: *workers, verbose: *verbose, alarms: &against})
		if err != nil {
			fmt.Fprintln(os.Stderr, "coverage:", err)
			os.Exit(1)
		}
		for _, id := range studied {
			if t := tallies[id]; t.traces > 0 || len(t.silent) > 0 {
				fmt.Println(t.row(c.name, id))
			}
		}
		fmt.Fprintf(os.Stderr, "%s: %.1f s\n", c.name, time.Since(start).Seconds())
	}
	fmt.Printf("\nPairs of places speak against the fitted motion in %d of %d traces.\n", against.alarms, against.traces)
	fmt.Fprintf(os.Stderr, "total %.0f s\n", time.Since(begin).Seconds())
}

// studied are the answers whose coverage is counted.
var studied = [...]string{motion.FirstMotion, motion.TimeToSpeed, motion.PeakSpeed, motion.GateCrossing, motion.PeakAcceleration, motion.FreeFallAcceleration}

// tally gathers the fate of one answer over many traces.
type tally struct {
	traces, held  int
	widths, error []float64 // relative to the truth (first motion and gates: in frame intervals)
	silent        map[metrology.Status]int
}

// covered returns the fraction of intervals that hold the truth.
func (t *tally) covered() float64 { return float64(t.held) / float64(t.traces) }

func (t *tally) row(class, id string) string {
	unit := "%"
	scale := 100.0
	if inFrames(id) {
		unit, scale = "frames", 1
	}
	var sq float64
	sizes := make([]float64, len(t.error))
	for i, e := range t.error {
		sq += e * e
		sizes[i] = math.Abs(e)
	}
	other := ""
	for _, s := range [...]metrology.Status{metrology.NotReached, metrology.Insufficient} {
		if n := t.silent[s]; n > 0 {
			other += fmt.Sprintf(" (+%d %s)", n, s)
		}
	}
	return fmt.Sprintf("| %s | %s | %d%s | %.1f %% | %.3g %s | %.3g %s | %.3g %s | %+.2g %s |", class, id, t.traces, other, 100*t.covered(),
		scale*median(t.widths), unit, scale*math.Sqrt(sq/float64(len(t.error))), unit, scale*median(sizes), unit, scale*median(t.error), unit)
}

// inFrames says whether an answer's errors are counted in frame intervals.
func inFrames(id string) bool { return id == motion.FirstMotion || id == motion.GateCrossing }

func median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	sort.Float64s(x)
	return x[len(x)/2]
}

// plan is which traces of a class are measured.
type plan struct {
	number        uint64 // of the class: its traces depend on it
	first, traces int
	workers       int
	verbose       bool // print every miss
	alarms        *alarms
}

// study measures traces of a class.
func study(c class, pl plan) (map[string]*tally, error) {
	n := pl.traces
	tallies := map[string]*tally{}
	for _, id := range studied {
		tallies[id] = &tally{silent: map[metrology.Status]int{}}
	}
	type outcome struct {
		f   filmed
		how filming
		res *motion.Result
		err error

		against string // what pairs of places say against it
	}
	outcomes := make([]outcome, n)
	var wg sync.WaitGroup
	next := make(chan int)
	for range pl.workers {
		wg.Go(func() {
			for i := range next {
				r := rand.New(rand.NewPCG(pl.number+1, uint64(pl.first+i)))
				var o outcome
				o.f, o.how = c.trace(r)
				o.f.in.Seed = uint64(pl.first + i)
				if o.res, o.err = motion.Measure(context.Background(), o.f.in); o.err == nil {
					o.against = guarded(o.f.in, o.res)
				}
				outcomes[i] = o
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	for i, o := range outcomes {
		if o.err != nil {
			return nil, fmt.Errorf("%s, seed %d: %w", c.name, pl.first+i, o.err)
		}
		if pl.alarms != nil {
			pl.alarms.add(c.name, pl.first+i, o.against)
		}
		for _, a := range o.res.Answers {
			t := tallies[a.ID]
			if t == nil {
				continue
			}
			arg := 0.0
			if a.Window != nil {
				arg = *a.Window
			}
			truth, ok := o.f.truth(a.ID, arg)
			if !ok {
				continue
			}
			if a.Status != metrology.Measured {
				t.silent[a.Status]++
				continue
			}
			t.traces++
			held := a.Interval[0] <= truth && truth <= a.Interval[1]
			if held {
				t.held++
			} else if pl.verbose {
				fmt.Fprintf(os.Stderr, "miss %s seed %d %s: truth %.6g, value %.6g, u %.3g, [%.6g, %.6g]\n", c.name, pl.first+i, a.ID, truth, *a.Value, *a.U, a.Interval[0], a.Interval[1])
			}
			size := math.Abs(truth)
			if inFrames(a.ID) {
				size = 1 / o.how.rate
			}
			t.widths = append(t.widths, (a.Interval[1]-a.Interval[0])/size)
			t.error = append(t.error, (*a.Value-truth)/size)
		}
	}
	return tallies, nil
}
