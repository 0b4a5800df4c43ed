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
		Short: "Draw and measure an invented club day, and serve its logbook",
		Long: `Draws the pictures of an invented club day (a bottle rocket with five fills of water,
a race of four, a motor rocket), measures them as if a camera had taken them, sets
every answer beside the truth, and serves the logbook that this leaves. It needs
nothing but the program, and a minute or two.`,
		Args: atMost(0, "no argument"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			draw := func() error {
				bars := newBars(cmd.ErrOrStderr())
				defer bars.done()
				return desk.Demo(cmd.Context(), desk.DemoOptions{Dir: out, Out: cmd.OutOrStdout(), Progress: bars.show})
			}
			if noServe {
				return draw()
			}
			at, err := o.open()
			if err != nil {
				return err
			}
			defer at.close()
			if err := draw(); err != nil {
				return err
			}
			return o.serve(cmd.Context(), at, out, cmd.OutOrStdout())
		},
	}
	cmd.Flags().StringVar(&out, "out", "padside-demo", "leave the logbook in the folder `DIR`")
	cmd.Flags().BoolVar(&noServe, "no-serve", false, "end without serving the logbook to the browser")
	cmd.Flags().IntVar(&o.port, "port", 0, "serve on port `N` (0: any free one)")
	return cmd
}
