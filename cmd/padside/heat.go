package main

import (
	"github.com/spf13/cobra"

	"padside/desk"
)

func newHeat() *cobra.Command {
	var o desk.HeatOptions
	var asJSON bool
	var dir string
	c := &cobra.Command{
		Use:   "heat HEAT.toml",
		Short: "Race launches under rules: places, ties, odds, breaches",
		Long: `Measures the launches that a heat file enters, checks each against the heat's rules,
and puts them in order by one answer. Entries that their intervals cannot tell apart
share a place. An entry that breaks a rule is listed with its reason, out of the
order. heat.html is a result sheet to print or send.`,
		Example: "  padside heat spring/heat.toml --out spring/results",
		Args:    oneArgument("a heat file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			s, err := watched(cmd, func(progress func(string, int, int)) (*desk.HeatSheet, error) {
				o.Progress = progress
				return desk.Heat(cmd.Context(), args[0], o)
			})
			if err != nil {
				return err
			}
			if err := keep(s, dir); err != nil {
				return err
			}
			return say(cmd, s, asJSON, s.Warnings)
		},
	}
	jsonFlag(c, &asJSON)
	seedFlag(c, &o.Seed)
	c.Flags().StringVar(&dir, "out", "", "leave heat.html, heat.json and results.csv in the folder `DIR`")
	sampleFlag(c, desk.SampleHeat)
	return c
}
