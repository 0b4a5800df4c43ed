package main

import (
	"context"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"padside": func() { os.Exit(run(context.Background(), os.Args[1:], os.Stdout, os.Stderr)) },
	})
}

// TestScripts holds every promise of the command line: testdata/*.txtar.
func TestScripts(t *testing.T) {
	t.Parallel()
	testscript.Run(t, testscript.Params{Dir: "testdata"})
}
