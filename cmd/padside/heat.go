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
		Long: `Heat measures the launches that a heat file enters, checks each against the heat's rules, and puts them in order
by one answer. Entries that their intervals cannot tell apart share a place. An entry that breaks a rule is
listed with its reason, out of the order. --out DIR leaves a result sheet to print or send (heat.html),
heat.json and results.csv.`,
		Example: "  padside heat spring/heat.toml --out spring/results",
		Args:    oneArgument("a heat file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			bars := newBars(cmd.ErrOrStderr())
			o.Progress = bars.show
			s, err := desk.Heat(cmd.Context(), args[0], o)
			bars.done()
			if err != nil {
				return err
			}
			warn(cmd.ErrOrStderr(), s.Warnings)
			if dir != "" {
				if err := s.Keep(dir); err != nil {
					return err
				}
			}
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
	c.Flags().StringVar(&dir, "out", "", "leave heat.html, heat.json and results.csv in this folder")
	return c
}
