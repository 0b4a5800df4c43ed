package padside_test

import (
	"os"
	"strings"
	"testing"

	"golang.org/x/tools/go/analysis/checker"
	"golang.org/x/tools/go/analysis/suite/vet"
	"golang.org/x/tools/go/packages"
)

// TestOtherSystems type-checks the program as it is built for other systems than Linux, with all that
// it imports and with the tests of the packages that are written differently for them, and vets it.
// It reads sources: compiling Go's library once more for each system takes seven times as long. What
// is seen by a compiler and linker alone, ./check --link sees.
func TestOtherSystems(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("type-checks the program and all that it imports, twice")
	}
	for _, system := range []string{"darwin/arm64", "windows/amd64"} {
		t.Run(system, func(t *testing.T) {
			goos, goarch, _ := strings.Cut(system, "/")
			env := append(os.Environ(), "GOOS="+goos, "GOARCH="+goarch, "CGO_ENABLED=0")
			asBuilt := &packages.Config{Mode: packages.LoadAllSyntax, Env: env, Tests: true, Context: t.Context()}
			program, err := packages.Load(asBuilt, "./cmd/padside", "./footage", "./logbook")
			if err != nil {
				t.Fatal(err)
			}
			packages.Visit(program, nil, func(p *packages.Package) {
				for _, e := range p.Errors {
					t.Errorf("%s: %v", p.ID, e)
				}
			})
			if !t.Failed() {
				vetted(t, program)
			}
		})
	}
}

// vetted wants nothing found in packages by the analyzers of go vet.
func vetted(t *testing.T, of []*packages.Package) {
	t.Helper()
	found, err := checker.Analyze(vet.Suite, of, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range found.Roots {
		if a.Err != nil {
			t.Errorf("%v: %v", a, a.Err)
		}
		for _, d := range a.Diagnostics {
			t.Errorf("%v: %s", a.Package.Fset.Position(d.Pos), d.Message)
		}
	}
}
