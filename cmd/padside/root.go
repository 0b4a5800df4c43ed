package main

import (
	"github.com/spf13/cobra"

	"padside/desk"
	"padside/fault"
)

const about = `padside measures launches from footage: how fast, how soon, how hard it pulled,
and how sure we are. It establishes the true time of every frame, follows the
vehicle to a fraction of a pixel, and gives every number with its 95 % interval
and what limits it.`

const exits = `Exit status: 0 done, 1 something broke, 2 the request is wrong, 3 the footage
holds no answer, 130 interrupted. Results go to standard output, everything else
to standard error.`

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "padside",
		Short:         "Numbers that stand up, from footage of a launch",
		Long:          about + "\n\n" + exits,
		Version:       desk.Program[len("padside "):],
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return fault.Requestf("the commands are: "+commandNames(cmd), "there is no command %q", args[0])
			}
			return cmd.Help()
		},
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: true},
	}
	root.SetVersionTemplate("padside {{.Version}}\n")
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return fault.Requestf("see: "+cmd.CommandPath()+" --help", "%v", err)
	})
	root.AddCommand(newPlan(), newRehearse(), newMeasure(), newCompare(), newRace(), newHeat(), newInspect(), newPredict(), newExplain(), newDemo(), newServe())
	return root
}

// oneArgument accepts exactly one argument, called what in the message.
func oneArgument(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		switch {
		case len(args) == 0:
			return fault.Requestf("usage: "+cmd.UseLine(), "%s needs %s", cmd.CommandPath(), what)
		case len(args) > 1:
			return fault.Requestf("usage: "+cmd.UseLine(), "%s takes one argument, %s; %q is one too many", cmd.CommandPath(), what, args[1])
		}
		return nil
	}
}

// someArguments accepts one argument or more, called what in the message.
func someArguments(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			return fault.Requestf("usage: "+cmd.UseLine(), "%s needs %s", cmd.CommandPath(), what)
		}
		return nil
	}
}

func commandNames(cmd *cobra.Command) string {
	names := ""
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			if names != "" {
				names += ", "
			}
			names += c.Name()
		}
	}
	return names
}
