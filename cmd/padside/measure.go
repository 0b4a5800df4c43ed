package main

import (
	"github.com/spf13/cobra"

	"padside/desk"
)

func newMeasure() *cobra.Command {
	var asJSON bool
	var out string
	var seed uint64
	cmd := &cobra.Command{
		Use:   "measure LAUNCH.toml",
		Short: "Measure one launch and answer its questions",
		Long: `Reads a launch file, follows the vehicle through its footage and answers the
questions, each with a 95 % interval and what limits it.`,
		Example: `  padside measure heron/launch.toml
  padside measure heron/launch.toml --out results --json > answers.json`,
		Args: oneArgument("a launch file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			m, err := watched(cmd, func(progress func(string, int, int)) (*desk.Measurement, error) {
				return desk.Measure(cmd.Context(), args[0], desk.Options{Seed: seed, Progress: progress})
			})
			if err != nil {
				return err
			}
			if err := keep(m, out); err != nil {
				return err
			}
			if err := say(cmd, m, asJSON, m.Sheet.Warnings); err != nil {
				return err
			}
			return m.Unanswered()
		},
	}
	jsonFlag(cmd, &asJSON)
	cmd.Flags().StringVar(&out, "out", "", "write answers.json, trace.csv, history.csv and streak.png into the folder `DIR`")
	seedFlag(cmd, &seed)
	sampleFlag(cmd, desk.SampleLaunch)
	return cmd
}
