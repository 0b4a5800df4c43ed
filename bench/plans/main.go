// Command plans draws a grid of plans by chance (what flies, what films it, how near, in what
// light), works each out, films it in simulation as the plan says and measures the pictures, and
// prints the half widths planned beside those rehearsed, as a table in Markdown.
//
//	go run ./bench/plans -takes 4 -first 1000000
//
// Methods are tuned on seeds below 1,000,000 and reported on those above.
package main

import (
	"context"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"

	"padside/desk"
	"padside/shoot"
)

func main() {
	plans := flag.Int("plans", 24, "plans")
	takes := flag.Int("takes", 4, "takes of each")
	first := flag.Uint64("first", 1, "first seed")
	only := flag.Int("only", 0, "only this plan, from 1")
	dir := flag.String("keep", "", "keep shoot files, footage and answers in this folder")
	flag.Parse()
	if err := run(*plans, *takes, *first, *only, *dir); err != nil {
		fmt.Fprintln(os.Stderr, "plans:", err)
		os.Exit(1)
	}
}

func run(plans, takes int, first uint64, only int, dir string) error {
	if dir == "" {
		temporary, err := os.MkdirTemp("", "padside-plans-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(temporary)
		dir = temporary
	} else if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	fmt.Println("| plan | question | asked | planned | rehearsed | ratio | verdict | held |\n|---|---|---|---|---|---|---|---|")
	var sum tally
	for i := range plans {
		if only != 0 && i+1 != only {
			continue
		}
		d := draw(i, first)
		path := filepath.Join(dir, fmt.Sprintf("plan-%d.toml", i+1))
		if err := os.WriteFile(path, []byte(d.text), 0o644); err != nil {
			return err
		}
		// Mode 1, the only one, is filmed even if nothing is planned to be answered.
		o := desk.RehearseOptions{Takes: takes, Mode: 1, Options: desk.Options{Seed: first + uint64(i)}}
		o.Dir = filepath.Join(dir, fmt.Sprintf("films-%d", i+1))
		s, err := desk.Rehearse(context.Background(), path, o)
		if err != nil {
			return fmt.Errorf("plan %d, %s: %w", i+1, d.name, err)
		}
		sum.add(i+1, d.name, s)
	}
	sum.print()
	return nil
}

// near is how far a rehearsed half width may lie from the planned one, as a factor less 1.
const near = 0.25

// tally counts how plans and rehearsals agree.
type tally struct {
	both, close, marginal, wide, narrow int
	inRange                             int // within near of the range planned
	silent                              int // planned, but not answered in most takes
	surprise                            int // not planned, but answered in most takes
	held, answered                      int
	logs                                []float64 // of rehearsed over planned
}

// add prints the questions of a plan and counts them.
func (t *tally) add(number int, name string, s *desk.PlanSheet) {
	for _, o := range s.Options {
		for _, q := range o.Questions {
			row := fmt.Sprintf("| %d %s | %s | %.3g %% |", number, name, q.Answer, 100*q.Within)
			number, r := planned(q), q.Rehearsed
			if r == nil {
				fmt.Println(row, number, "| | | ", q.Verdict, "| |")
				continue
			}
			t.held, t.answered = t.held+r.Covered, t.answered+r.Answered
			ratio := ""
			switch {
			case q.HalfWidth == nil && 2*r.Answered > r.Takes:
				t.surprise++
			case q.HalfWidth != nil && 2*r.Answered <= r.Takes:
				t.silent++
			case q.HalfWidth != nil:
				ratio = t.compare(q, *r.Half / *q.HalfWidth)
			}
			fmt.Println(row, number, "|", percent(r.Half), "|", ratio, "|", q.Verdict, "|", fmt.Sprintf("%d of %d", r.Covered, r.Answered), "|")
		}
	}
}

// compare counts a rehearsed half width over the planned one, and words it.
func (t *tally) compare(q shoot.Forecast, ratio float64) string {
	t.both++
	if r := q.Range; r != nil && *q.Rehearsed.Half >= *r[0]/(1+near) && (r[1] == nil || *q.Rehearsed.Half <= *r[1]*(1+near)) {
		t.inRange++
	}
	t.logs = append(t.logs, math.Log(ratio))
	words := fmt.Sprintf("%.2f", ratio)
	switch {
	case math.Abs(math.Log(ratio)) <= math.Log1p(near):
		t.close++
	case q.Verdict == shoot.Marginal:
		t.marginal++
	case ratio > 1:
		t.wide++
		words += " !"
	default:
		t.narrow++
		words += " !"
	}
	return words
}

func (t *tally) print() {
	slices.Sort(t.logs)
	fmt.Printf("\n%d half widths planned and rehearsed: %d within %.0f %% of each other, %d not but of a marginal verdict, %d wider than planned, %d narrower\n",
		t.both, t.close, 100*near, t.marginal, t.wide, t.narrow)
	fmt.Printf("%d within %.0f %% of the range planned\n", t.inRange, 100*near)
	if n := len(t.logs); n > 0 {
		fmt.Printf("rehearsed over planned: middle %.2f, tenth to nine tenths %.2f to %.2f\n", math.Exp(t.logs[n/2]), math.Exp(t.logs[n/10]), math.Exp(t.logs[n*9/10]))
	}
	fmt.Printf("%d planned that most takes do not answer, %d answered that were not planned; intervals hold the truth in %d of %d\n", t.silent, t.surprise, t.held, t.answered)
}

// planned writes the half width planned with its range.
func planned(q shoot.Forecast) string {
	if q.HalfWidth == nil {
		return "none"
	}
	widest := "none"
	if q.Range[1] != nil {
		widest = fmt.Sprintf("%.2g", 100**q.Range[1])
	}
	return fmt.Sprintf("%s (%.2g to %s)", percent(q.HalfWidth), 100**q.Range[0], widest)
}

// percent writes a relative half width.
func percent(half *float64) string {
	if half == nil {
		return "none"
	}
	return fmt.Sprintf("%.2g %%", 100**half)
}
