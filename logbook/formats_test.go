package logbook

import (
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"padside/fault"
)

// documented is docs/formats.md, and the indented example under one of its headings.
func documented(t *testing.T, heading string) (text, example string) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "docs", "formats.md"))
	if err != nil {
		t.Fatal(err)
	}
	text = string(b)
	_, section, ok := strings.Cut(text, "\n"+heading+"\n")
	if !ok {
		t.Fatalf("docs/formats.md has no %q", heading)
	}
	section, _, _ = strings.Cut(section, "\n## ")
	var lines []string
	for _, l := range strings.Split(section, "\n") {
		if code, ok := strings.CutPrefix(l, "    "); ok {
			lines = append(lines, code)
		} else if l == "" && len(lines) > 0 {
			lines = append(lines, "")
		} else if len(lines) > 0 {
			break
		}
	}
	return text, strings.Join(lines, "\n")
}

// TestFormatsExamples: the examples in docs/formats.md are files that the program reads.
func TestFormatsExamples(t *testing.T) {
	t.Parallel()
	_, launch := documented(t, "## The launch file")
	l, err := ParseLaunch([]byte(launch), "launch.toml")
	if err != nil {
		t.Fatalf("%v\n%s", err, launch)
	}
	if len(l.Scale.Marks) != 3 || len(l.Questions.Gates) != 10 || l.Trace.Box == nil || l.Kind != "bottle" {
		t.Errorf("the launch file of docs/formats.md is read as %+v", l)
	}
	readme, err := os.ReadFile(filepath.Join("..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, first, _ := strings.Cut(string(readme), "       format  = 1\n")
	first, _, found := strings.Cut(first, "\n\n   `8.00(2) m`")
	if l, err = ParseLaunch([]byte("format = 1\n"+first), "launch.toml"); !found || err != nil || len(l.Scale.Marks) != 3 {
		t.Errorf("the README's launch file: %v", err)
	}
	_, heat := documented(t, "## The heat file")
	if _, err := ParseHeat([]byte(heat+"\n[[entry]]\nlaunch = \"another.toml\"\n"), "heat.toml"); err != nil {
		t.Errorf("%v\n%s", err, heat)
	}
}

// TestFormatsNameEveryKey: whatever key a launch, heat, flight or shoot file may have is in docs/formats.md.
func TestFormatsNameEveryKey(t *testing.T) {
	t.Parallel()
	text, _ := documented(t, "## The launch file")
	sources, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	call, quoted, keys := regexp.MustCompile(`\br\.known\(([^\n]*)\)`), regexp.MustCompile(`"([a-z][a-z0-9_]*)"`), 0
	for _, s := range sources {
		b, err := os.ReadFile(s)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range call.FindAllStringSubmatch(string(b), -1) {
			_, list, _ := strings.Cut(c[1], ",") // after the table
			_, list, _ = strings.Cut(list, ",")  // and its name
			for _, k := range quoted.FindAllStringSubmatch(list, -1) {
				keys++
				if !regexp.MustCompile(`\b` + k[1] + `\b`).MatchString(text) {
					t.Errorf("%s: the key %q is not in docs/formats.md", s, k[1])
				}
			}
		}
	}
	const some = 60 // keys at least: else the pattern no longer finds them
	if keys < some {
		t.Errorf("only %d keys were found in the readers", keys)
	}
}

// TestFootageIsNoLaunchFile: who gives the clip where its launch file belongs is told so, and what a launch file looks like.
func TestFootageIsNoLaunchFile(t *testing.T) {
	t.Parallel()
	clip := filepath.Join(t.TempDir(), "heron.mp4")
	for _, content := range [][]byte{{0, 0, 0, 32, 'f', 't', 'y', 'p'}, make([]byte, longestFile+1)} {
		if err := os.WriteFile(clip, content, 0o644); err != nil {
			t.Fatal(err)
		}
		_, err := ReadLaunch(clip)
		var f *fault.Error
		if !errors.As(err, &f) || !strings.Contains(f.Message, "where a launch file is needed") || !strings.Contains(f.Hint, "padside measure --sample") {
			t.Errorf("%d bytes of a clip: %v", len(content), err)
		}
	}
}
