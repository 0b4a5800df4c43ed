package main

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// A panic prints one line and ends with status 1: it is no wrong request.
func TestPanicExitsWithOne(t *testing.T) {
	t.Parallel()
	var out, errs bytes.Buffer
	root := newRoot()
	root.AddCommand(&cobra.Command{Use: "break", RunE: func(*cobra.Command, []string) error { panic("a broken\ncommand") }})
	if code := execute(context.Background(), root, []string{"break"}, &out, &errs); code != 1 {
		t.Errorf("status %d, want 1", code)
	}
	if got := errs.String(); strings.Count(got, "\n") != 1 || !strings.HasPrefix(got, "padside: a fault of the program itself, please report it: a broken command at padside/panic_test.go:") {
		t.Errorf("it prints %q", got)
	}
	if out.Len() > 0 {
		t.Errorf("standard output holds %q", out.String())
	}
}
