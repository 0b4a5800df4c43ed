package main

import (
	"github.com/spf13/cobra"

	"padside/desk"
)

func newPlan() *cobra.Command {
	var o desk.Options
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "plan SHOOT.toml",
		Short: "Plan a shoot: what each camera would see, and whether it could answer",
		Long: `Reads a shoot file (cameras, lens, place, light, reference, expected motion,
questions) and works out for each camera mode what it sees, how it would be set in
that light, how many frames of the launch it catches, and how wide the interval of
each question's answer would be. Bursts: the chance of pictures in flight, and when
to press.

The expected motion may be stated, or be that of a launch that was measured, or of a
flight file.`,
		Example: "  padside plan shoot.toml\n  padside plan shoot.toml --json",
		Args:    oneArgument("a shoot file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			s, err := watched(cmd, func(progress func(string, int, int)) (*desk.PlanSheet, error) {
				o.Progress = progress
				return desk.Plan(cmd.Context(), args[0], o)
			})
			if err != nil {
				return err
			}
			return say(cmd, s, asJSON, s.Warnings)
		},
	}
	jsonFlag(cmd, &asJSON)
	seedFlag(cmd, &o.Seed)
	sampleFlag(cmd, desk.SampleShoot)
	return cmd
}
