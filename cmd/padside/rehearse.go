package main

import (
	"github.com/spf13/cobra"

	"padside/desk"
)

func newRehearse() *cobra.Command {
	var o desk.RehearseOptions
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "rehearse SHOOT.toml",
		Short: "Rehearse a shoot: film the plan in simulation and measure the pictures",
		Long: `Plans a shoot, then draws each camera mode that may answer as it would film the
expected motion, follows the vehicle in the drawn pictures, measures them as those of
a real launch, and sets what comes out beside the truth. Distances and the lean of
each flight differ from what is stated as they would on the day.`,
		Example: "  padside rehearse shoot.toml\n  padside rehearse shoot.toml --takes 8 --mode 2 --out films",
		Args:    oneArgument("a shoot file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			s, err := watched(cmd, func(progress func(string, int, int)) (*desk.PlanSheet, error) {
				o.Progress = progress
				return desk.Rehearse(cmd.Context(), args[0], o)
			})
			if err != nil {
				return err
			}
			return say(cmd, s, asJSON, s.Warnings)
		},
	}
	jsonFlag(cmd, &asJSON)
	seedFlag(cmd, &o.Seed)
	cmd.Flags().IntVar(&o.Takes, "takes", 4, "film each mode `N` times")
	cmd.Flags().IntVar(&o.Mode, "mode", 0, "rehearse mode `N` alone, counted as the plan lists them (0: each that may answer)")
	cmd.Flags().StringVar(&o.Dir, "out", "", "leave films, launch files and answers in the folder `DIR`")
	return cmd
}
