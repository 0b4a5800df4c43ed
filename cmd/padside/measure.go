package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
	"golang.org/x/term"

	"padside/desk"
	"padside/fault"
)

func newMeasure() *cobra.Command {
	var asJSON bool
	var out string
	var seed uint64
	cmd := &cobra.Command{
		Use:   "measure LAUNCH.toml",
		Short: "Measure one launch and answer its questions",
		Long: `Reads a launch file, follows the vehicle through its footage and answers the
questions, each with a 95 % interval and what limits it.

` + exits,
		Example: `  padside measure heron/launch.toml
  padside measure heron/launch.toml --out results --json > answers.json`,
		Args: oneArgument("a launch file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			bars := newBars(cmd.ErrOrStderr())
			m, err := desk.Measure(cmd.Context(), args[0], desk.Options{Seed: seed, Progress: bars.show})
			bars.done()
			if err != nil {
				return err
			}
			warn(cmd.ErrOrStderr(), m.Sheet.Warnings)
			if out != "" {
				if err := m.Keep(out); err != nil {
					return err
				}
			}
			if asJSON {
				b, err := m.Sheet.JSON()
				if err != nil {
					return err
				}
				_, err = cmd.OutOrStdout().Write(b)
				return err
			}
			return m.Text(cmd.OutOrStdout())
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print everything as JSON, in SI")
	cmd.Flags().StringVar(&out, "out", "", "write answers.json, trace.csv, history.csv and streak.png into this folder")
	cmd.Flags().Uint64Var(&seed, "seed", 1, "seed of the draws behind the intervals")
	return cmd
}

// warn prints each warning on a line of its own.
func warn(w io.Writer, list []fault.Warning) {
	for _, f := range list {
		fmt.Fprintf(w, "warning: %s (%s)\n", oneLine(f.Message), f.Code)
	}
}

// bars shows progress on a terminal, one bar per stage, and nothing elsewhere.
type bars struct {
	all   *mpb.Progress
	stage string
	bar   *mpb.Bar
}

func newBars(w io.Writer) *bars {
	f, ok := w.(interface{ Fd() uintptr })
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return &bars{}
	}
	return &bars{all: mpb.New(mpb.WithOutput(w), mpb.WithWidth(48), mpb.WithRefreshRate(100*time.Millisecond))}
}

func (b *bars) show(stage string, done, total int) {
	if b.all == nil || total <= 0 {
		return
	}
	if stage != b.stage {
		if b.bar != nil {
			b.bar.SetTotal(-1, true)
		}
		b.stage = stage
		b.bar = b.all.AddBar(int64(total),
			mpb.PrependDecorators(decor.Name(stage+strings.Repeat(" ", max(0, 8-len(stage))))),
			mpb.AppendDecorators(decor.CountersNoUnit("%d of %d")))
	}
	b.bar.SetCurrent(int64(done))
}

func (b *bars) done() {
	if b.all == nil {
		return
	}
	if b.bar != nil {
		b.bar.SetTotal(-1, true)
	}
	b.all.Wait()
}
