package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"padside/fault"
)

// result is what a command found: for a person, and for a script.
type result interface {
	Text(w io.Writer) error
	JSON() ([]byte, error)
}

// say writes warnings to standard error, then the result to standard output.
func say(cmd *cobra.Command, r result, asJSON bool, warnings []fault.Warning) error {
	warn(cmd.ErrOrStderr(), warnings)
	if !asJSON {
		return r.Text(cmd.OutOrStdout())
	}
	b, err := r.JSON()
	if err != nil {
		return err
	}
	_, err = cmd.OutOrStdout().Write(b)
	return err
}

// keep writes a result's files into a folder, where one is asked for.
func keep(r interface{ Keep(dir string) error }, dir string) error {
	if dir == "" {
		return nil
	}
	return r.Keep(dir)
}

// watched does a command's work with its progress shown on a terminal.
func watched[R any](cmd *cobra.Command, work func(progress func(stage string, done, total int)) (R, error)) (R, error) {
	b := newBars(cmd.ErrOrStderr())
	defer b.done()
	return work(b.show)
}

// jsonFlag adds --json.
func jsonFlag(cmd *cobra.Command, asJSON *bool) {
	cmd.Flags().BoolVar(asJSON, "json", false, "print everything as JSON, in SI")
}

// seedFlag adds --seed.
func seedFlag(cmd *cobra.Command, seed *uint64) {
	cmd.Flags().Uint64Var(seed, "seed", 1, "seed `N` of the draws behind the intervals")
}

// warn prints each warning on a line of its own.
func warn(w io.Writer, list []fault.Warning) {
	for _, f := range list {
		fmt.Fprintf(w, "warning: %s (%s)\n", oneLine(f.Message), f.Code)
	}
}
