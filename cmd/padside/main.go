// Command padside measures launches from footage: how fast, how soon, how hard it
// pulled, each with an interval that is true to its word.
//
// Results go to standard output, everything else to standard error. Exit status:
//
//	0    done
//	1    something broke
//	2    the request is wrong: one line says what and where, a second what to do
//	3    the footage holds no answer, and why; or is not what was measured
//	130  interrupted
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"padside/fault"
	"padside/guard"
)

func main() {
	ctx, stop := untilInterrupted()
	code := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// untilInterrupted is a context that ends with the first Ctrl-C. The second ends the program, whatever the work does that was asked to end.
func untilInterrupted() (context.Context, func()) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	guard.AfterDone(ctx, "let a second signal end the program", stop)
	return ctx, stop
}

// run executes one command line and returns the exit status.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	return execute(ctx, newRoot(), args, stdout, stderr)
}

// execute is run for any tree of commands.
func execute(ctx context.Context, root *cobra.Command, args []string, stdout, stderr io.Writer) int {
	root.SetArgs(args)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := guard.Do(func() error { return root.ExecuteContext(ctx) })
	if err == nil {
		return 0
	}
	if ctx.Err() != nil {
		fmt.Fprintln(stderr, "padside: interrupted")
		return 130
	}
	var f *fault.Error
	if !errors.As(err, &f) {
		f = &fault.Error{Kind: fault.Failed, Message: err.Error()}
	}
	fmt.Fprintf(stderr, "padside: %s\n", oneLine(f.Message))
	if f.Hint != "" {
		fmt.Fprintf(stderr, "hint: %s\n", oneLine(f.Hint))
	}
	return int(f.Kind)
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
