package main

import (
	"github.com/spf13/cobra"

	"padside/desk"
	"padside/fault"
	"padside/predict"
)

func newPredict() *cobra.Command {
	var o predict.Options
	var asJSON bool
	var sweep, goal string
	cmd := &cobra.Command{
		Use:   "predict FLIGHT.toml",
		Short: "Predict a flight from its flight file",
		Long: `Flies the model of a flight file, a bottle rocket or a motor rocket, and says what it
would reach; inputs with an uncertainty give answers with an interval. With --sweep
one input runs over a range, and the best value for a goal is found.

A prediction is an estimate, not a clearance to fly.`,
		Example: "  padside predict heron.toml\n  padside predict heron.toml --sweep water=100mL..1500mL --goal apogee",
		Args:    oneArgument("a flight file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if sweep == "" && cmd.Flags().Changed("goal") {
				return fault.Requestf("add --sweep KEY=FROM..TO, or leave --goal out", "there is nothing to aim with: --goal belongs to a sweep")
			}
			if sweep != "" {
				var err error
				if o.Sweep, err = predict.ParseSweep(sweep); err != nil {
					return err
				}
				o.Sweep.Goal = goal
			}
			s, err := watched(cmd, func(progress func(string, int, int)) (*predict.Sheet, error) {
				o.Progress = progress
				return desk.Predict(cmd.Context(), args[0], o)
			})
			if err != nil {
				return err
			}
			return say(cmd, s, asJSON, s.Warnings)
		},
	}
	jsonFlag(cmd, &asJSON)
	seedFlag(cmd, &o.Seed)
	cmd.Flags().StringVar(&sweep, "sweep", "", "run one input over a range, `KEY=FROM..TO`")
	cmd.Flags().StringVar(&goal, "goal", "apogee", "the `ANSWER` that a sweep aims at: apogee, peak_speed, end_of_water_speed, total_impulse, ...")
	sampleFlag(cmd, desk.SampleFlight)
	return cmd
}
