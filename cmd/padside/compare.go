package main

import (
	"github.com/spf13/cobra"

	"padside/desk"
	"padside/fault"
)

func newCompare() *cobra.Command {
	var o desk.CompareOptions
	var asJSON bool
	c := &cobra.Command{
		Use:   "compare LAUNCH.toml LAUNCH.toml...",
		Short: "Compare launches: ratios, differences, odds and places",
		Long: `Compare measures two launches or more and compares their answers draw by draw, so that the errors of a setup which
they share cancel. Footage with several vehicles counts as one launch for each.

With --repeats the launches are the same one flown again: their mean, how much they differ, and which lies off.
With --sweep KEY they differ in one condition, a key of [conditions]: a curve with its best value.`,
		Example: "  padside compare heron/launch.toml kite/launch.toml\n  padside compare fill-*/launch.toml --sweep water",
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return fault.Requestf("usage: "+cmd.UseLine(), "%s needs the launch files to compare", cmd.CommandPath())
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			bars := newBars(cmd.ErrOrStderr())
			o.Progress = bars.show
			s, err := desk.Compare(cmd.Context(), args, o)
			bars.done()
			if err != nil {
				return err
			}
			warn(cmd.ErrOrStderr(), s.Warnings)
			if !asJSON {
				return s.Text(cmd.OutOrStdout())
			}
			b, err := s.JSON()
			if err != nil {
				return err
			}
			_, err = cmd.OutOrStdout().Write(b)
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	c.Flags().Uint64Var(&o.Seed, "seed", 1, "seed of all draws")
	c.Flags().BoolVar(&o.Repeats, "repeats", false, "the launches repeat each other")
	c.Flags().StringVar(&o.Sweep, "sweep", "", "the launches differ in this condition")
	return c
}
