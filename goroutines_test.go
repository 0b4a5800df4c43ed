package padside_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"
)

// TestGoroutinesAreGuarded reads the sources of the program: a goroutine is started by package guard, so that a panic ends the work that met it
// and not the workbench. What else starts goroutines, groups of other packages, stands there alone too.
func TestGoroutinesAreGuarded(t *testing.T) {
	t.Parallel()
	files := 0
	err := filepath.WalkDir(".", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		p = filepath.ToSlash(p)
		switch {
		case d.IsDir() && (p == "guard" || p+"/" == outside || strings.HasPrefix(d.Name(), ".") && p != "."):
			return fs.SkipDir
		case d.IsDir() || !strings.HasSuffix(p, ".go") || strings.HasSuffix(p, "_test.go"):
			return nil
		}
		files++
		set := token.NewFileSet()
		f, err := parser.ParseFile(set, p, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, i := range f.Imports {
			if i.Path.Value == `"golang.org/x/sync/errgroup"` {
				t.Errorf("%s imports errgroup: use guard.WithContext or guard.NewGroup", p)
			}
		}
		for _, at := range bareGoroutines(f) {
			t.Errorf("%s: a goroutine that nothing guards: use guard.Go, guard.Alone, guard.Workers, guard.AfterTime, guard.AfterDone or a guard.Group", set.Position(at))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 100 {
		t.Errorf("only %d files were read", files)
	}
}

// bareGoroutines finds go statements, wait groups, whose Go is one, and calls that are made in a goroutine later.
func bareGoroutines(f *ast.File) (at []token.Pos) {
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.GoStmt:
			at = append(at, n.Pos())
		case *ast.SelectorExpr:
			x, ok := n.X.(*ast.Ident)
			if ok && (x.Name == "sync" && n.Sel.Name == "WaitGroup" || n.Sel.Name == "AfterFunc" && (x.Name == "time" || x.Name == "context")) {
				at = append(at, n.Pos())
			}
		}
		return true
	})
	return at
}

// The test above can fail: it sees both in a source that has them.
func TestBareGoroutinesAreSeen(t *testing.T) {
	t.Parallel()
	f, err := parser.ParseFile(token.NewFileSet(), "x.go", "package x\nimport \"sync\"\nvar w sync.WaitGroup\nfunc f() { go f(); time.AfterFunc(1, f); context.AfterFunc(nil, f) }\n", 0)
	if err != nil {
		t.Fatal(err)
	}
	if got := len(bareGoroutines(f)); got != 4 {
		t.Errorf("%d are seen, want 4", got)
	}
}
