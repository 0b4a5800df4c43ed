package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestReport runs the real `go test -json` on a small module of its own: what failed is printed
// with what it said, what passed with its line alone, and what was skipped is listed with its
// reason, also when a sibling that passed said something in between.
func TestReport(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for name, text := range map[string]string{
		"go.mod": "module small\n\ngo 1.24\n",
		"good/a_test.go": `package good

import "testing"

func TestPasses(t *testing.T) { t.Parallel(); t.Log("chatter") }
func TestLasts(t *testing.T) { for range 200000000 { lasts++ } }

var lasts int

func TestSkips(t *testing.T) {
	t.Parallel()
	t.Log("before")
	t.Skip("../shared/thing is absent: nothing checked")
}
func TestParts(t *testing.T) { t.Run("part", func(t *testing.T) { t.Skip("slow") }) }
func TestMute(t *testing.T) { t.SkipNow() }
`,
		"bad/a_test.go":    "package bad\n\nimport \"testing\"\n\nfunc TestFails(t *testing.T) { t.Error(\"one is not two\") }\n",
		"broken/a_test.go": "package broken\n\nimport \"testing\"\n\nfunc TestNothing(t *testing.T) { missing() }\n",
		"panics/a_test.go": "package panics\n\nimport \"testing\"\n\nfunc TestPanics(t *testing.T) { panic(\"no way out\") }\n",
		"empty/a.go":       "package empty\n",
	} {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	var said strings.Builder
	r := newReport(&said)
	for _, pkgs := range [][]string{{"./good", "./empty"}, {"./bad", "./broken", "./panics"}} {
		c := exec.Command("go", append([]string{"test", "-vet=off", "-json"}, pkgs...)...)
		c.Dir = dir
		c.Env = append(os.Environ(), "GOFLAGS=", "GOWORK=off")
		out, _ := c.Output() // fails where it should
		if err := r.read(strings.NewReader(string(out))); err != nil {
			t.Fatal(err)
		}
		if good := pkgs[0] == "./good"; good == r.failed {
			t.Errorf("%v: failed is %v", pkgs, r.failed)
		}
	}
	r.end()
	got := said.String()
	for _, want := range []string{"ok  \tsmall/good", "small/empty\t[no test files]", "one is not two", "--- FAIL: TestFails", "FAIL\tsmall/bad",
		"undefined: missing", "no way out", "\n3 tests were skipped:\n", "small/good TestSkips: ../shared/thing is absent: nothing checked\n",
		"small/good TestParts/part: slow\n", "small/good TestMute: no reason given\n", "\nlongest, waiting included:\n", " s  small/good TestLasts\n"} {
		if !strings.Contains(got, want) {
			t.Errorf("the report lacks %q", want)
		}
	}
	for _, never := range []string{"chatter", "=== RUN", "TestPasses", "{\""} {
		if strings.Contains(got, never) {
			t.Errorf("the report holds %q", never)
		}
	}
	if t.Failed() {
		t.Log(got)
	}
	if n := len(r.lacking("../shared")); n != 1 {
		t.Errorf("%d tests lack ../shared, want 1", n)
	}
	if n := len(r.lacking("")); n != 0 {
		t.Errorf("%d tests lack nothing, want 0", n)
	}
}
