package main

import (
	"github.com/spf13/cobra"

	"padside/desk"
)

func newDemo() *cobra.Command {
	var out string
	var noServe bool
	o := serving{browser: true}
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Draw an invented club day, measure it, show the answers beside the truth, and serve the logbook",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			bars := newBars(cmd.ErrOrStderr())
			err := desk.Demo(cmd.Context(), desk.DemoOptions{Dir: out, Out: cmd.OutOrStdout(), Progress: bars.show})
			bars.done()
			if err != nil || noServe {
				return err
			}
			return o.serve(cmd.Context(), out, cmd.OutOrStdout())
		},
	}
	cmd.Flags().StringVar(&out, "out", "padside-demo", "leave the logbook in this folder")
	cmd.Flags().BoolVar(&noServe, "no-serve", false, "end without serving the logbook to the browser")
	cmd.Flags().IntVar(&o.port, "port", 0, "serve on this port (0: any free one)")
	return cmd
}
