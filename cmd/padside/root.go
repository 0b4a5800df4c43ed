package main

import (
	"github.com/spf13/cobra"

	"padside/desk"
)

const about = `padside measures launches from footage: how fast, how soon, how hard it pulled,
and how sure we are. It establishes the true time of every frame, follows the
vehicle to a fraction of a pixel, and gives every number with its 95 % interval
and what limits it.`

const exits = `Exit status: 0 done, 1 something broke, 2 the request is wrong, 3 the footage
holds no answer or is not what was measured, 130 interrupted. Results go to standard
output, everything else to standard error.`

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:                        "padside COMMAND",
		Short:                      "Numbers that stand up, from footage of a launch",
		Long:                       about + "\n\n" + exits,
		Version:                    desk.Program[len("padside "):],
		SilenceErrors:              true,
		SilenceUsage:               true,
		DisableFlagsInUseLine:      true,
		SuggestionsMinimumDistance: 2,
		Args:                       cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return noCommand(cmd, args[0])
			}
			return cmd.Help()
		},
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: true},
	}
	root.SetVersionTemplate("padside {{.Version}}\n")
	root.SetFlagErrorFunc(flagFault)
	arrange(root)
	return root
}
