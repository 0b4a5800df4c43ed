package main

import (
	"github.com/spf13/cobra"

	"padside/desk"
)

func newCompare() *cobra.Command {
	var o desk.CompareOptions
	var asJSON bool
	c := &cobra.Command{
		Use:   "compare LAUNCH.toml LAUNCH.toml...",
		Short: "Compare launches: ratios, differences, odds and places",
		Long: `Measures two launches or more and compares their answers draw by draw, so that the
errors of a setup which they share cancel. Footage with several vehicles counts as
one launch for each.

With --repeats the launches are the same one flown again: their mean, how much they
differ, and which lies off. With --sweep KEY they differ in one condition, a key of
[conditions]: a curve with its best value.`,
		Example: "  padside compare heron/launch.toml kite/launch.toml\n  padside compare fill-*/launch.toml --sweep water",
		Args:    someArguments("the launch files to compare"),
		RunE: func(cmd *cobra.Command, args []string) error {
			s, err := watched(cmd, func(progress func(string, int, int)) (*desk.CompareSheet, error) {
				o.Progress = progress
				return desk.Compare(cmd.Context(), args, o)
			})
			if err != nil {
				return err
			}
			return say(cmd, s, asJSON, s.Warnings)
		},
	}
	jsonFlag(c, &asJSON)
	seedFlag(c, &o.Seed)
	c.Flags().BoolVar(&o.Repeats, "repeats", false, "the launches repeat each other")
	c.Flags().StringVar(&o.Sweep, "sweep", "", "the launches differ in the condition `KEY`")
	return c
}
