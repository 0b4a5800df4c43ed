package main

import (
	"github.com/spf13/cobra"

	"padside/desk"
)

func newVerify() *cobra.Command {
	var o desk.VerifyOptions
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "verify LOGBOOK | LAUNCH.toml",
		Short: "Hold footage against what was measured, by its digests",
		Long: `Reads all footage of a launch, or of every launch of a logbook, computes its SHA-256
digests and says where it is not what was measured: changed, missing, of stills which
one. Nothing is changed; the logbook may be open elsewhere. Exit status 0 where all
that was measured stands, 3 where something differs.`,
		Example: "  padside verify my-logbook\n  padside verify heron/launch.toml --results results",
		Args:    oneArgument("a logbook or a launch file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			s, err := watched(cmd, func(progress func(string, int, int)) (*desk.VerifySheet, error) {
				o.Progress = progress
				return desk.Verify(cmd.Context(), args[0], o)
			})
			if err != nil {
				return err
			}
			if err := say(cmd, s, asJSON, nil); err != nil {
				return err
			}
			return s.Differs()
		},
	}
	jsonFlag(cmd, &asJSON)
	cmd.Flags().StringVar(&o.Results, "results", "", "the results in the folder `DIR`, as measure --out left them")
	return cmd
}
