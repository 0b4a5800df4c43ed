package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"padside/fault"
)

// groups are the commands in the order of the work.
var groups = [...]struct {
	title string
	make  []func() *cobra.Command
}{
	{"Before the shoot", []func() *cobra.Command{newPlan, newRehearse}},
	{"From footage to numbers", []func() *cobra.Command{newInspect, newMeasure, newCompare, newHeat, newRace, newClip, newVerify}},
	{"With a flight model", []func() *cobra.Command{newPredict, newExplain}},
	{"In the browser", []func() *cobra.Command{newServe, newDemo}},
}

// usage is how each command's help ends.
const usage = `usage: {{.UseLine}}{{if .HasExample}}

for example
{{.Example}}{{end}}{{range $group := .Groups}}

{{$group.Title}}{{range $.Commands}}{{if eq .GroupID $group.ID}}
  {{rpad .Name .NamePadding}}  {{.Short}}{{end}}{{end}}{{end}}{{if .HasAvailableLocalFlags}}

options
{{.LocalFlags.FlagUsages | trimTrailingWhitespaces}}{{end}}{{if .HasAvailableSubCommands}}

padside help COMMAND tells more of one.{{end}}
`

// arrange adds the commands and says how their help looks.
func arrange(root *cobra.Command) {
	root.SetUsageTemplate(usage)
	root.PersistentFlags().BoolP("help", "h", false, "show this help")
	root.Flags().BoolP("version", "v", false, "print the version")
	root.SetHelpCommand(newHelp())
	cobra.EnableCommandSorting = false // they are listed as they are added
	for _, g := range groups {
		root.AddGroup(&cobra.Group{ID: g.title, Title: g.title})
		for _, newCommand := range g.make {
			c := newCommand()
			c.GroupID, c.DisableFlagsInUseLine = g.title, true
			root.AddCommand(c)
		}
	}
}

func newHelp() *cobra.Command {
	return &cobra.Command{
		Use:                   "help [COMMAND]",
		Short:                 "Tell more of a command",
		Hidden:                true,
		DisableFlagsInUseLine: true,
		RunE: func(cmd *cobra.Command, args []string) error {
			about := cmd.Root()
			for _, name := range args {
				next := child(about, name)
				if next == nil {
					return noCommand(cmd.Root(), name)
				}
				about = next
			}
			return about.Help()
		},
	}
}

func child(of *cobra.Command, name string) *cobra.Command {
	for _, c := range of.Commands() {
		if c.Name() == name {
			return c
		}
	}
	return nil
}

// noCommand says that there is none of that name, and which there are.
func noCommand(root *cobra.Command, name string) error {
	var names []string
	for _, c := range root.Commands() {
		if c.IsAvailableCommand() {
			names = append(names, c.Name())
		}
	}
	hint := "the commands are: " + strings.Join(names, ", ")
	if near := root.SuggestionsFor(name); len(near) > 0 {
		hint = fmt.Sprintf("did you mean %q? %s", near[0], hint)
	}
	return fault.Requestf(hint, "there is no command %q", name)
}

// flagFault words what is wrong with an option.
func flagFault(cmd *cobra.Command, err error) error {
	see := "padside help " + cmd.Name() + " lists the options"
	var (
		unknown *pflag.NotExistError
		bare    *pflag.ValueRequiredError
		value   *pflag.InvalidValueError
	)
	switch {
	case errors.As(err, &unknown):
		name := "--" + unknown.GetSpecifiedName()
		if unknown.GetSpecifiedShortnames() != "" {
			name = name[1:]
		}
		return fault.Requestf(see, "%s has no option %s", cmd.Name(), name)
	case errors.As(err, &bare):
		return fault.Requestf(see, "--%s needs a value", bare.GetFlag().Name)
	case errors.As(err, &value):
		f := value.GetFlag()
		want := map[string]string{"uint64": "a whole number, 0 or more", "int": "a whole number", "float64": "a number", "bool": "true or false"}[f.Value.Type()]
		return fault.Requestf("give "+want, "--%s cannot be %q", f.Name, value.GetValue())
	}
	return fault.Requestf(see, "%v", err)
}

// oneArgument accepts exactly one argument, called what in the message.
func oneArgument(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if err := someArguments(what)(cmd, args); err != nil {
			return err
		}
		return atMost(1, what)(cmd, args)
	}
}

// someArguments accepts one argument or more, called what in the message.
func someArguments(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) > 0 {
			return nil
		}
		hint := "usage: " + cmd.UseLine()
		if cmd.Flags().Lookup(sampleName) != nil {
			hint += fmt.Sprintf("; padside %s --%s prints one to begin with", cmd.Name(), sampleName)
		}
		return fault.Requestf(hint, "%s needs %s", cmd.Name(), what)
	}
}

// atMost accepts no more than n arguments; what they may be.
func atMost(n int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) > n {
			return fault.Requestf("usage: "+cmd.UseLine(), "%s takes %s; %q is one too many", cmd.Name(), what, args[n])
		}
		return nil
	}
}

const sampleName = "sample"

// sampleFlag adds --sample, which prints a file for the command to read and does nothing else.
func sampleFlag(cmd *cobra.Command, text string) {
	asked := cmd.Flags().Bool(sampleName, false, "print a file to begin with, and do nothing else")
	args, run := cmd.Args, cmd.RunE
	cmd.Args = func(cmd *cobra.Command, list []string) error {
		if *asked {
			return atMost(0, "--"+sampleName)(cmd, list)
		}
		return args(cmd, list)
	}
	cmd.RunE = func(cmd *cobra.Command, list []string) error {
		if *asked {
			_, err := fmt.Fprint(cmd.OutOrStdout(), text)
			return err
		}
		return run(cmd, list)
	}
}
