package main

import (
	"strings"

	"github.com/spf13/cobra"

	"padside/desk"
	"padside/fault"
)

func newExplain() *cobra.Command {
	var o desk.ExplainOptions
	var asJSON bool
	var free, out string
	cmd := &cobra.Command{
		Use:   "explain LAUNCH.toml",
		Short: "Fit a flight model to a measured launch",
		Long: `Measures a launch and fits the model of its flight file to the trace: the inputs named
by --free from the footage alone, inputs that the file states with an uncertainty
along with what it states. Says what the footage cannot tell apart, whether the model
fits at all, and what the fitted flight would reach. Values under [conditions] of the
launch stand for the flight file's.

A prediction is an estimate, not a clearance to fly.`,
		Example: "  padside explain heron-350.toml\n  padside explain heron-350.toml --flight heron.toml --free discharge,drag_area --json",
		Args:    oneArgument("a launch file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("free") {
				o.Free = strings.Split(free, ",")
			}
			s, err := watched(cmd, func(progress func(string, int, int)) (*desk.ExplainSheet, error) {
				o.Progress = progress
				return desk.Explain(cmd.Context(), args[0], o)
			})
			if err != nil {
				return err
			}
			if err := keep(s, out); err != nil {
				return err
			}
			err = say(cmd, s, asJSON, s.Warnings)
			if err == nil && !s.Test.Fits {
				err = fault.NoAnswerf("free another input, complete the flight file (launch tube, masses), or check the scale", "the flight model does not fit what was filmed")
			}
			return err
		},
	}
	jsonFlag(cmd, &asJSON)
	cmd.Flags().StringVar(&o.Flight, "flight", "", "the flight file `FLIGHT.toml`, where the launch names none or another is wanted")
	cmd.Flags().StringVar(&free, "free", "", "inputs `KEY,KEY` that the footage alone decides, such as discharge,exponent,drag_area")
	cmd.Flags().StringVar(&out, "out", "", "write explain.json into the folder `DIR`")
	seedFlag(cmd, &o.Seed)
	return cmd
}
