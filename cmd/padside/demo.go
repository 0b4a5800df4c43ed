package main

import (
	"github.com/spf13/cobra"

	"padside/desk"
)

func newDemo() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Draw an invented club day, measure it, and show the answers beside the truth",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			bars := newBars(cmd.ErrOrStderr())
			err := desk.Demo(cmd.Context(), desk.DemoOptions{Dir: out, Out: cmd.OutOrStdout(), Progress: bars.show})
			bars.done()
			return err
		},
	}
	cmd.Flags().StringVar(&out, "out", "padside-demo", "leave the logbook in this folder")
	cmd.Flags().Bool("no-serve", false, "end without serving the logbook (it is not served yet)")
	return cmd
}
