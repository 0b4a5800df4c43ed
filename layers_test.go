package padside_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// layers is the house plan: a package may import only packages of lower layers.
// A new package is added here with its layer; docs/architecture.md says why it exists.
var layers = map[string]int{
	"fault":       -1, // how any package says what is wrong
	"disk":        0,  // how any package opens files that others wrote
	"guard":       0,  // how any package starts a goroutine
	"units":       0,
	"timebase":    0,
	"metrology":   1,
	"fit":         1,
	"footage":     1,
	"camera":      2,
	"flight":      2,
	"noise":       2,
	"layer":       2,
	"register":    2,
	"scene":       3,
	"stabilise":   3,
	"trace":       4,
	"motion":      4,
	"pairs":       5,
	"study":       5,
	"shoot":       5,
	"explain":     5,
	"logbook":     6,
	"picture":     6,
	"sheet":       6,
	"predict":     8,
	"rules":       7,
	"wording":     7,
	"staged":      7,
	"desk":        9,
	"web":         10,
	"web/bundle":  10, // makes what web embeds
	"cmd/padside": 11,

	"cmd/testreport": 11, // prints what ./check tested and skipped
}

// outside holds the programs that stand above the house: long studies.
const outside = "bench/"

func TestImportsPointDown(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	err := filepath.WalkDir(".", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && strings.HasPrefix(d.Name(), ".") && p != "." {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(p, ".go") || strings.HasSuffix(p, "_test.go") {
			return nil
		}
		p = filepath.ToSlash(p)
		pkg := path.Dir(p)
		if strings.HasPrefix(pkg, outside) {
			return nil
		}
		layer, ok := layers[pkg]
		if !ok {
			t.Errorf("%s: package %q is not in the table of layers", p, pkg)
			return nil
		}
		seen[pkg] = true
		f, err := parser.ParseFile(token.NewFileSet(), p, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, imp := range f.Imports {
			name, _ := strconv.Unquote(imp.Path.Value)
			name, ours := strings.CutPrefix(name, "padside/")
			if !ours {
				continue
			}
			below, ok := layers[name]
			if !ok || below >= layer {
				t.Errorf("%s (layer %d) imports %s (layer %d): imports point down only", p, layer, name, below)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for pkg := range layers {
		if !seen[pkg] {
			t.Errorf("the table of layers names %q, which holds no Go file", pkg)
		}
	}
}
